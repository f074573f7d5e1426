//! What a picture shows, for those who cannot see it: the phrases that the draw stage puts together.

use std::collections::BTreeMap;

use crate::fields::Fields;
use crate::template::Template;

use super::{LONGEST, texts};

texts! {
    /// Phrases about a picture; `side` is a gap in those that name one.
    PicturePhrases {
        sitting_on_chair standing_on_leg hands_and_knees kneeling on_back face_down on_side sitting_on_floor standing
        arm_overhead arms_overhead arm_forward arms_forward knee_bent knees_bent elbow_bent elbows_bent
        bent_fully bent_square bent_half bent_little
        trunk_turned trunk_bent head_tilted limbs_long
        arrow up down forward back to_side toward_head toward_feet
        gap arrow_and_gap held angle mark good bad
    }
}

/// Everything that is needed to put a picture into words.
#[derive(Clone, Debug)]
pub struct PictureWords {
    /// Phrases.
    pub phrases: PicturePhrases,
    /// What a thing in the picture adds to the stance, by kind.
    pub props: BTreeMap<String, Template>,
    /// Places on the body, by the name in pose files, with article.
    pub sites: BTreeMap<String, Template>,
    /// Muscles, by the name in pose files, with article.
    pub muscles: BTreeMap<String, Template>,
    /// The word between the last two of a list.
    pub and: String,
}

impl PictureWords {
    pub(super) fn read(fields: &Fields<'_>, and: &str) -> Option<Self> {
        let named = |key: &str| -> Option<BTreeMap<String, Template>> {
            let table = fields.need(key)?.table()?;
            let entries = table.entries().into_iter();
            let read = |(name, value): (crate::fields::At<String>, crate::fields::Value<'_>)| {
                Some((name.value, Template::new(value.text(80)?.value)))
            };
            Some(entries.filter_map(read).collect())
        };
        let (props, sites, muscles) = (named("props"), named("sites"), named("muscles"));
        let phrases = fields.need("phrases").and_then(|v| v.table()).and_then(|f| PicturePhrases::read(&f));
        fields.done();
        Some(Self { phrases: phrases?, props: props?, sites: sites?, muscles: muscles?, and: and.to_owned() })
    }
}
