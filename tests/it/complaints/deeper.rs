//! What takes more than one change, or more than reading, to be noticed.

use std::fs;

use kinleaf::pipeline::Which;

use super::edits::{BRAND, CLIENT, EXERCISE, PHASES, PLAIN, PLANNING, POSES, SIGNS, SQUAT, SQUAT_POSES, WORDS};
use super::{ANA, Small, Through};

/// Files that are added or replaced as a whole.
pub const FILES: &[(&str, &[u8], &str)] = &[
    (CLIENT, b"name = \"Ana\xff\"", "line 1 is not UTF-8 text"),
    (PHASES, b"", "there are no phases here"),
    ("exercises/put-to-use/knee-to-wall.toml", b"", "another exercise has this name"),
    ("exercises/stretch/Heel.toml", b"", "rename the file; lower case only"),
    ("exercises/poses/wall-walk.toml", b"[[frames]]\npose = \"standing\"", "there is no exercise `wall-walk`"),
    (POSES, CROWD, "pictures stand side by side here"),
    (POSES, b"view = \"right\"", "a picture needs at least one frame"),
    (POSES, b"[[frames]]\npose = \"standing\"\nrungs = [2]", "a rung has no frame that shows it"),
    ("exercises/pictures/a.svg", &[b' '; (1 << 20) + 1], "simplify its paths"),
    ("exercises/pictures/a.svg", b"\xff", "this drawing is not UTF-8 text"),
    ("exercises/pictures/a.svg", b"<!DOCTYPE svg><svg/>", "this drawing declares a document type or entities"),
    ("exercises/pictures/a.svg", b"<svg>", "this drawing is not well-formed"),
    ("exercises/pictures/a.svg", b"<svg><script/></svg>", "this drawing holds a `script` element"),
    ("exercises/pictures/a.svg", b"<svg><text>a</text></svg>", "this drawing holds text, which needs a font"),
    (
        "exercises/pictures/a.svg",
        b"<svg><a href='http://x.example'/></svg>",
        "refers to something outside itself: `href`",
    ),
    ("exercises/pictures/a.svg", b"<svg><style>@import 'a.css';</style></svg>", "the style of this drawing refers"),
    ("exercises/pictures/a.svg", EMPTY, "this drawing is empty"),
    ("exercises/pictures/a.svg", UNSIZED, "this drawing cannot be drawn"),
    ("exercises/pictures/a.png", b"not a picture", "this is neither a PNG nor a JPEG picture"),
    ("exercises/pictures/a.png", b"\x89PNG\r\n\x1a\n", "this picture cannot be read"),
    ("exercises/pictures/a.png", &png(9000, 9000), "which is more than paper can use"),
    ("exercises/pictures/a.png", &png(900, 900), "this picture is damaged"),
    ("clients/ben.toml", &[b'#'; (4 << 20) + 1], "is 4 MB large, but at most 4 MB are read"),
];

const CROWD: &[u8] = b"[[frames]]\npose = \"standing\"\n[[frames]]\npose = \"standing\"\n[[frames]]\npose = \"standing\"\n[[frames]]\npose = \"standing\"\n[[frames]]\npose = \"standing\"\n[[frames]]\npose = \"standing\"\n";

const EMPTY: &[u8] = b"<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'></svg>";

const UNSIZED: &[u8] = b"<svg xmlns='http://www.w3.org/2000/svg' width='0' height='9'></svg>";

/// The head of a PNG of that size, and no pixels after it.
const fn png(width: u32, height: u32) -> [u8; 41] {
    let mut bytes = *b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR____....\x08\x02\0\0\0CRC!\0\0\0\x09IDAT";
    let sizes = [width.to_be_bytes(), height.to_be_bytes()];
    let mut i = 0;
    while i < 8 {
        bytes[16 + i] = sizes[i / 4][i % 4];
        i += 1;
    }
    let crc = crc(&bytes).to_be_bytes();
    i = 0;
    while i < 4 {
        bytes[29 + i] = crc[i];
        i += 1;
    }
    bytes
}

/// The checksum of the head, from its name to its last field (PNG, third edition, annex D).
const fn crc(bytes: &[u8; 41]) -> u32 {
    let (mut crc, mut i) = (u32::MAX, 12);
    while i < 29 {
        crc ^= bytes[i] as u32;
        let mut bit = 0;
        while bit < 8 {
            crc = if crc & 1 == 1 { 0xedb8_8320 ^ (crc >> 1) } else { crc >> 1 };
            bit += 1;
        }
        i += 1;
    }
    !crc
}

/// A case that takes more than one change, or more than reading to be noticed.
pub struct Deeper {
    pub practice: fn() -> Small,
    pub through: Through,
    pub breaks: fn(&Small),
    pub expected: &'static str,
}

/// Asks for a typeface of the practice's own.
fn typeface(small: &Small, name: &str) {
    small.add_layouts();
    small.replace(BRAND, "ink = ", &format!("typefaces = [\"{name}\"]\nink = "));
}

const fn deeper(through: Through, breaks: fn(&Small), expected: &'static str) -> Deeper {
    Deeper { practice: Small::new, through, breaks, expected }
}

/// The line of Ana's program.
const PROGRAM: &str = "program = [{ exercise = \"knee-to-wall\", side = \"right\" }]\n";
const TWO: &str = "program = [{ exercise = \"knee-to-wall\", side = \"right\" }, { exercise = \"chair-squat\" }]\n";
const CROPPED: &str = "[[pictures]]\nfile = \"a.svg\"\nalt = \"A.\"\ncrop = [0, 0, 50, 100]\n[[effects]]";
const CORRECTED: &str =
    "[[corrections]]\non = 2026-11-24\nwhat = \"the heel must stay down\"\nurgent = true\n[[effects]]";
const READING: &str = "{ test = \"knee-to-wall\", left = 10, right = 6 }";
const DIARY: &str = "{ exercise = \"knee-to-wall\", days = 12, discomfort = 1, felt = \"right\" }";
const SENT: &str =
    "[[referrals]]\nregion = \"ankle\"\nto = \"Dr Lee\"\nwhy = \"It locks.\"\non = 2026-11-18\n[[visits]]";
const EFFECT: &str = "[[effects]]\nstructure = \"ankle-dorsiflexion\"\nstate = \"stiff\"\neffect = 0.5\n";
/// A ledger without what a sheet was set from.
const OLDER: &str = "[[sheets]]\nnumber = 1\nvisit = \"2026-11-20\"\nwords = \"00\"\ndocuments = []\n";
const COUNT: &str = "usual = 5\nwarn_above = 6\nnever_above = 8";

/// A test whose usual range goes by age, for a client whose age is not known.
fn ageless(small: &Small) {
    small.replace(CLIENT, "born = 1980-05-04\n", "");
    small.replace(CLIENT, READING, "{ test = \"one-leg-stand\", left = 20, right = 20 }");
}

/// A diary result for an exercise that the tool did not choose at the visit before.
fn unheard(small: &Small) {
    let before =
        format!("[[visits]]\non = 2026-11-06\nscreening = {{ yes = [] }}\nreadings = [{READING}]\n\n[[visits]]");
    small.replace(CLIENT, "[[visits]]", &before);
    small.replace(CLIENT, PROGRAM, &format!("diary = [{}]\n", DIARY.replace("knee-to-wall", "chair-squat")));
}

pub const DEEPER: &[Deeper] = &[
    deeper(Through::Files, |p| fs::remove_dir_all(p.root()).unwrap(), "name a practice folder with `--practice`"),
    deeper(Through::Files, |p| fs::remove_file(p.root().join(CLIENT)).unwrap(), "there are no client records here"),
    deeper(Through::Files, |p| fs::remove_file(p.root().join(BRAND)).unwrap(), "this file is missing"),
    deeper(Through::Files, |p| fs::remove_file(p.root().join(BRAND)).unwrap(), "`kinleaf start DIR` makes a new one"),
    deeper(Through::Plan, ageless, "the usual range of `one-leg-stand` goes by age, and the record has no `born`"),
    deeper(Through::Plan, ageless, "until then this reading is not compared with what is usual"),
    deeper(Through::Plan, unheard, "`chair-squat` was not in the last program, so nothing follows from this"),
    deeper(Through::Plan, unheard, "name an exercise of that program"),
    deeper(
        Through::Files,
        |p| {
            fs::remove_dir_all(p.root().join("exercises/poses/tests")).unwrap();
            p.write("exercises/poses/tests", "a file where a folder should be");
        },
        "cannot be read: not a directory",
    ),
    #[cfg(unix)]
    deeper(
        Through::Files,
        |p| std::os::unix::fs::symlink("/etc/hostname", p.root().join("clients/ben.toml")).unwrap(),
        "this link leads out of the practice folder",
    ),
    #[cfg(unix)]
    deeper(
        Through::Files,
        |p| std::os::unix::fs::symlink("nothing.toml", p.root().join("clients/ben.toml")).unwrap(),
        "this link leads to nothing",
    ),
    #[cfg(target_os = "linux")]
    deeper(
        Through::Files,
        |p| {
            use std::os::unix::ffi::OsStrExt;
            let name = std::ffi::OsStr::from_bytes(b"ana\xff.toml");
            fs::write(p.root().join("clients").join(name), "").unwrap();
        },
        "holds a file name that is not UTF-8",
    ),
    deeper(
        Through::Files,
        |p| p.replace(SIGNS, "sign = \"heel-lifts\"", "sign = \"heel-lift\""),
        "there is no sign `heel-lift` in what this file shows",
    ),
    deeper(
        Through::Files,
        |p| {
            p.replace(PHASES, "id = \"stretch\"", "id = \"lengthen\"");
            p.replace(PLANNING, "\"stretch\"", "\"lengthen\"");
        },
        "the folder `stretch` is not a phase",
    ),
    deeper(
        Through::Files,
        |p| {
            p.replace(SQUAT_POSES, "both.shoulder.flexion = 28", "both.shoulder.flexion = 170");
            p.replace(SQUAT_POSES, "reach = [{ limb = \"both.hand\", to = \"breastbone\"", "reach = []\n# ");
        },
        "the tag `overhead`",
    ),
    deeper(
        Through::Files,
        |p| image::RgbImage::new(90, 90).save(p.made("exercises/pictures/a.png")).unwrap(),
        "would print blurred",
    ),
    deeper(
        Through::Files,
        |p| {
            p.write("exercises/pictures/a.svg", fs::read(p.root().join("layouts/logo.svg")).unwrap());
            p.replace(EXERCISE, "[[effects]]", CROPPED);
        },
        "a drawing is not cropped",
    ),
    deeper(Through::Files, |p| fs::remove_file(p.root().join(PLAIN)).unwrap(), "nothing says how plain `en` must be"),
    deeper(Through::Check, |p| fs::remove_file(p.root().join(PLAIN)).unwrap(), "the language of this sheet"),
    deeper(Through::Check, |p| p.write("clients/Ana.toml", ANA), "is not a usable name"),
    deeper(Through::Files, |p| typeface(p, "Atkinson Hyperlegible"), "no font in layouts/fonts is called"),
    deeper(Through::Files, |p| typeface(p, "Tern Grotesk"), "put its font files into layouts/fonts; there are:"),
    // Planning.
    deeper(
        Through::Plan,
        |p| p.replace(CLIENT, "[[visits]]", "no_positions = [\"standing\"]\n[[visits]]"),
        "`knee-to-wall` is not for Ana",
    ),
    deeper(
        Through::Plan,
        |p| p.replace(CLIENT, "[[visits]]", "no_equipment = [\"wall\"]\n[[visits]]"),
        "`knee-to-wall` is not for Ana",
    ),
    deeper(
        Through::Plan,
        |p| p.replace(EXERCISE, "[[effects]]", "[[asks]]\ntest = \"knee-to-wall\"\nat_least = 20\n[[effects]]"),
        "`knee-to-wall` is not for Ana",
    ),
    deeper(
        Through::Plan,
        |p| {
            p.replace(CLIENT, PROGRAM, "");
            p.replace(CLIENT, "[[visits]]", "no_equipment = [\"wall\", \"chair\"]\n[[visits]]");
        },
        "there is work to do, but nothing in the library is for Ana",
    ),
    deeper(
        Through::Plan,
        |p| {
            p.replace(CLIENT, PROGRAM, "");
            p.replace(CLIENT, "right = 6 }", "right = 6 }, { test = \"neck-turn\", left = 20, right = 20 }");
        },
        "nothing in the library works on",
    ),
    deeper(
        Through::Plan,
        |p| {
            p.replace(CLIENT, PROGRAM, TWO);
            p.replace(PLANNING, COUNT, "usual = 1\nwarn_above = 1\nnever_above = 1");
        },
        "nobody keeps up more than 1",
    ),
    deeper(
        Through::Plan,
        |p| {
            p.replace(CLIENT, PROGRAM, TWO);
            p.replace(PLANNING, COUNT, "usual = 1\nwarn_above = 1\nnever_above = 8");
        },
        "people keep up 1 or fewer better",
    ),
    deeper(
        Through::Plan,
        |p| {
            let before = format!("[[visits]]\non = 2026-10-20\nscreening = {{ yes = [] }}\n{PROGRAM}\n[[visits]]\non");
            p.replace(CLIENT, "[[visits]]\non", &before);
            p.replace(CLIENT, "6 }]\nprogram = [{ exercise", "6 }]\nprogram = [{ rung = 2, exercise");
            p.replace(PLANNING, "per_region = 1", "per_region = 0");
        },
        "go up a rung at once",
    ),
    deeper(
        Through::Plan,
        |p| p.replace(CLIENT, "on = 2026-11-20", "on = 2026-11-20\nnext = 2027-05-20"),
        "agree an earlier day",
    ),
    deeper(
        Through::Plan,
        |p| p.replace(CLIENT, "minutes_a_day = 20", "minutes_a_day = 1"),
        "minutes on its fullest day, but Ana has 1",
    ),
    deeper(
        Through::Plan,
        |p| {
            p.replace(EXERCISE, "reps = { min = 6, start = 8, max = 10 }\n", "");
            p.replace(EXERCISE, "state = \"stiff\"\neffect = 0.55", "state = \"short\"\neffect = 0.25");
            p.replace(PLANNING, "least_s = 300\nenough_s = 600", "least_s = 7000\nenough_s = 7000");
        },
        "s of stretch a week",
    ),
    deeper(
        Through::Plan,
        |p| p.replace(CLIENT, "yes = []", "asked_on = 2026-11-01, yes = []"),
        "the health questions were last asked on 2026-11-01",
    ),
    deeper(
        Through::Check,
        |p| {
            let behind = "reach = [{ limb = \"left.hand\", at = [-40, 12, 79] }]";
            let pose = format!("[pose.a]\nbase = \"standing\"\n{behind}\n[[frames]]\npose = \"a\"\n");
            p.write(SQUAT_POSES, format!("view = \"right\"\n{pose}"));
        },
        "correct the pose, or name the joint under `allow` in its frame",
    ),
    deeper(
        Through::Check,
        |p| p.replace(POSES, "caption", "look = [{ site = \"right.knee\", r = 0.5 }]\ncaption"),
        "draw it larger, turn it, or take something out",
    ),
    // What becomes of a program.
    deeper(
        Through::Plan,
        |p| {
            let before = "[[visits]]\non = 2026-10-20\nscreening = { yes = [] }\n\
                          readings = [{ test = \"knee-to-wall\", left = 10, right = 12 }]\n[[visits]]\non";
            p.replace(CLIENT, "[[visits]]\non", before);
        },
        "is really worse than at the last visit",
    ),
    deeper(
        Through::Check,
        |p| p.replace(WORDS, "\"Do this one exercise", "\"Do these 2 exercises"),
        "and the plan has 1",
    ),
    deeper(Through::Check, |p| p.replace(CLIENT, PROGRAM, "program = [{ exercise = \"chair-squat\" }]\n"), "CERT 14b"),
    deeper(
        Through::Plan,
        |p| {
            let visit = |on: &str, diary: &str| {
                format!("[[visits]]\non = {on}\nscreening = {{ yes = [] }}\nreadings = [{READING}]\n{PROGRAM}{diary}")
            };
            let diary = format!("diary = [{DIARY}]\n");
            let before = [visit("2026-10-23", ""), visit("2026-11-06", &diary)].concat();
            p.replace(
                CLIENT,
                "[[visits]]\non = 2026-11-20\n",
                &format!("{before}[[visits]]\non = 2026-11-20\n{diary}"),
            );
        },
        "has not really changed in 2 periods, though the days were done",
    ),
    deeper(
        Through::Plan,
        |p| {
            p.replace(CLIENT, PROGRAM, "program = [{ exercise = \"chair-squat\" }]\n");
            p.replace(CLIENT, "[[visits]]", "[[conditions]]\ncondition = \"diabetes\"\n[[visits]]");
        },
        "record a clearance if there is one",
    ),
    deeper(
        Through::Plan,
        |p| {
            p.replace(EXERCISE, "positions", "bears = [{ region = \"ankle\", side = \"same\" }]\npositions");
            p.replace(CLIENT, PROGRAM, &format!("sore = [{{ region = \"ankle\", side = \"right\" }}]\n{PROGRAM}"));
        },
        "it rests on the sore ankle",
    ),
    deeper(
        Through::Plan,
        |p| p.replace(CLIENT, "right = 6", "right = 6, right_pain = 8"),
        "the test `knee-to-wall` hurt too much in the same place",
    ),
    deeper(
        Through::Plan,
        |p| {
            p.replace(EXERCISE, "positions = [\"standing\"]", "positions = [\"standing\", \"half-kneeling\"]");
            p.replace(CLIENT, "[[visits]]", "no_positions = [\"half-kneeling\"]\n[[visits]]");
        },
        "`half-kneeling` (standing or the edge of a bed instead)",
    ),
    deeper(
        Through::Plan,
        |p| p.replace(CLIENT, "[[visits]]", SENT),
        "everything in the program waits for the answer to a referral",
    ),
    deeper(
        Through::Plan,
        |p| p.replace(CLIENT, "[[visits]]", &format!("no_equipment = [\"wall\"]\n{SENT}")),
        "close the referral when the answer is there",
    ),
    deeper(
        Through::Plan,
        |p| {
            p.replace(EXERCISE, "[[effects]]", "[[asks]]\ntest = \"knee-to-wall\"\nat_least = 20\n[[effects]]");
            p.replace(SQUAT, "[[effects]]", &format!("{EFFECT}[[effects]]"));
        },
        "; instead: `chair-squat`",
    ),
    deeper(
        Through::Plan,
        |p| p.replace(CLIENT, PROGRAM, "bans = [\"knee-to-wall\"]\n"),
        "what keeps it away: it has been dropped, or the coach does not want it",
    ),
    deeper(
        Through::Plan,
        |p| {
            let before = "[[visits]]\non = 2026-10-20\nscreening = { yes = [] }\n\
                          readings = [{ test = \"knee-to-wall\", left = 10, right = 12 }]\n[[visits]]\non";
            p.replace(CLIENT, "[[visits]]\non", before);
            p.replace(CLIENT, PROGRAM, "");
        },
        "`knee-to-wall` is really worse than last time, and it works there",
    ),
    // Sheets that clients hold.
    deeper(
        Through::Check,
        |p| {
            p.add_layouts();
            assert_eq!(p.print(Which::Due), []);
            p.replace(EXERCISE, "feel = \"A mild", "feel = \"A soft");
        },
        "sheet 1 has the old words of `knee-to-wall`",
    ),
    deeper(
        Through::Check,
        |p| {
            p.add_layouts();
            assert_eq!(p.print(Which::Due), []);
            p.replace(EXERCISE, "feel = \"A mild", "feel = \"A soft");
            p.replace(EXERCISE, "[[effects]]", CORRECTED);
        },
        "the heel must stay down (2026-11-24)",
    ),
    deeper(
        Through::Check,
        |p| {
            p.add_layouts();
            assert_eq!(p.print(Which::Due), []);
            fs::remove_file(p.root().join(EXERCISE)).unwrap();
            fs::remove_file(p.root().join(POSES)).unwrap();
        },
        "sheet 1 has `knee-to-wall`, which the library does not have any more",
    ),
    deeper(
        Through::Check,
        |p| {
            p.write("clients/ana.sheets.toml", OLDER);
            p.replace(EXERCISE, "[[effects]]", CORRECTED);
        },
        "sheet 1 is of an older program and may have texts corrected since",
    ),
    // Printing.
    deeper(
        Through::Print(Which::Due),
        |p| p.replace("layouts/handout.typ", "#show: base", "#show: base\n#nothing-like-this"),
        "unknown variable",
    ),
    deeper(
        Through::Print(Which::Due),
        |p| p.replace("layouts/plan.typ", "par(m.sub) })", "par(block(m.sub)) })"),
        "block may not occur inside of a paragraph",
    ),
    deeper(
        Through::Print(Which::Due),
        |p| p.replace("layouts/plan.typ", "par(m.sub) })", "[] })"),
        "this text did not reach the paper",
    ),
    deeper(
        Through::Print(Which::Due),
        |p| p.replace("layouts/plan.typ", "par(m.sub) })", "place(dx: 150mm, box(m.sub)) })"),
        "this does not fit the paper",
    ),
    deeper(
        Through::Print(Which::Due),
        |p| {
            let layout = fs::read_to_string(p.root().join("layouts/handout.typ")).unwrap();
            p.write("layouts/handout.typ", format!("{layout}\n#figure(image(\"logo.svg\"))"));
        },
        "alt",
    ),
    deeper(Through::Print(Which::Due), |p| p.replace(CLIENT, "Climb the", "Climb 🧗 the"), "🧗"),
    deeper(
        Through::Print(Which::Due),
        |p| p.write("out", "a file where a folder should be"),
        "check the folder and print again",
    ),
    deeper(Through::Print(Which::Again), |_| {}, "no sheet has been issued yet"),
    deeper(
        Through::Print(Which::Due),
        |p| p.write("clients/ana.sheets.toml", "zebra = 1"),
        "this record of sheets was changed by hand",
    ),
    deeper(
        Through::Print(Which::Again),
        |p| {
            assert_eq!(p.print(Which::Due), []);
            fs::remove_dir_all(p.root().join("clients/issued")).unwrap();
        },
        "sheet 1 cannot be made again as it was issued",
    ),
    deeper(
        Through::Print(Which::Due),
        |p| {
            assert_eq!(p.print(Which::Due), []);
            p.replace(CLIENT, "Climb the stairs with ease.", "Row.");
        },
        "renew",
    ),
];
