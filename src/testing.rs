//! The demo practice, and clients written in a few lines, for unit tests.

use std::path::Path;
use std::sync::{Arc, OnceLock};

use jiff::civil::Date;

use crate::check::{Practice, check, check_client};
use crate::diag::{Rule, SourceFile};
use crate::ids::{ClientId, Id};
use crate::load::load;
use crate::record::Client;

/// The repo's own practice.
pub fn demo() -> &'static Practice {
    static DEMO: OnceLock<Practice> = OnceLock::new();
    DEMO.get_or_init(|| {
        let (files, problems) = load(Path::new(env!("CARGO_MANIFEST_DIR")));
        assert_eq!(problems, []);
        let (practice, mut problems) = check(files);
        // The demo's translations have yet to be read by someone fluent.
        problems.retain(|problem| problem.rule != Rule::DraftTranslation);
        assert_eq!(problems, []);
        practice.expect("the demo practice is sound")
    })
}

/// A client with one visit on 20 November 2026. `about` goes before the visit, `visit` into it.
pub fn client(about: &str, visit: &str) -> Client {
    let text = format!(
        "name = \"Ana Silva\"\ngoals = [\"Climb the stairs with ease.\"]\nminutes_a_day = 30\n{about}\n[[visits]]\non = 2026-11-20\n{visit}\n"
    );
    let file = Arc::new(SourceFile { path: "clients/ana.toml".into(), text });
    let id = ClientId::new("ana").unwrap();
    check_client(demo(), &id, &file, Date::constant(2026, 11, 25)).unwrap_or_else(|problems| {
        panic!("{}", problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
    })
}
