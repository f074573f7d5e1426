//! Words for those who cannot see the picture: what the frame shows, in one or two plain sentences.
//!
//! The phrases are data of the language; here is decided which of them hold.

use std::collections::BTreeMap;

use crate::body::Side;
use crate::draw::facts::{Bearing, Facts, facts};
use crate::draw::motion::{Angles, Joint, Motion};
use crate::draw::picture::{PropKind, Verdict};
use crate::draw::skeleton::Bone;
use crate::draw::solve::SolvedFrame;
use crate::draw::vector::v;
use crate::template::Template;
use crate::words::{PicturePhrases, Words};

/// Longest text, in characters and in words (handout-quality 6.5).
const LONGEST: usize = 250;
/// Things that the stance names, the most telling first.
pub(crate) const TOLD_PROPS: [PropKind; 11] = [
    PropKind::Wall,
    PropKind::Step,
    PropKind::Roller,
    PropKind::Ball,
    PropKind::Band,
    PropKind::Loop,
    PropKind::Stick,
    PropKind::Weight,
    PropKind::Table,
    PropKind::Bed,
    PropKind::Post,
];
const MOST_WORDS: usize = 30;

/// Puts frames into the words of one language.
pub struct Teller<'a> {
    /// The language.
    pub words: &'a Words,
    /// The authors' own words about poses in that language, by what they wrote.
    pub say: Option<&'a BTreeMap<String, String>>,
}

impl Teller<'_> {
    /// The alternative text of each frame. Frames after the first tell what changed.
    pub fn alt_texts(&self, frames: &[SolvedFrame]) -> Vec<String> {
        let text = |(i, frame): (usize, &SolvedFrame)| {
            let before = i.checked_sub(1).and_then(|it| frames.get(it));
            self.alt_text(frame, before)
        };
        frames.iter().enumerate().map(text).collect()
    }

    fn phrases(&self) -> &PicturePhrases {
        &self.words.pictures.phrases
    }

    /// A phrase without gaps.
    fn plain(&self, phrase: &Template) -> String {
        phrase.source().to_owned()
    }

    /// A phrase about a side.
    fn sided(&self, phrase: &Template, side: Side) -> String {
        self.words.phrase(phrase, Some(side), &[])
    }

    fn alt_text(&self, frame: &SolvedFrame, before: Option<&SolvedFrame>) -> String {
        let facts = facts(frame);
        let stance = self.stance(frame, &facts);
        let now = self.notable(frame, &facts);
        let changed: Vec<String> = match before {
            Some(before) => {
                let old = self.notable(before, &before.facts());
                now.iter().filter(|it| !old.contains(it)).cloned().collect()
            }
            None => now.clone(),
        };
        // Words of the author's tell the pose already; then only what changed since is added.
        let same_words = before.is_some_and(|it| it.pose.say == frame.pose.say);
        let told: &[String] = match (&frame.pose.say, changed.is_empty()) {
            (Some(_), _) if same_words => &changed,
            (Some(_), _) => &[],
            (None, true) => &now,
            (None, false) => &changed,
        };
        let facts: Vec<&str> =
            told.iter().take(if frame.pose.say.is_some() { 2 } else { 3 }).map(String::as_str).collect();
        let pose = match facts.split_last() {
            Some((last, [])) => format!("{stance}, {last}"),
            Some((last, rest)) => format!("{stance}, {} {} {last}", rest.join(", "), self.words.pictures.and),
            None => stance,
        };
        let held = if frame.marks.hold { format!(", {}", self.phrases().held.source()) } else { String::new() };
        let mut text = format!("{pose}{held}.");
        let marks = [self.gap(frame), self.arrows(frame), self.angle(frame), self.feels(frame), self.verdict(frame)];
        // The first mark that there is room for.
        let _told = marks.into_iter().flatten().any(|extra| added(&mut text, &extra));
        text
    }

    fn stance(&self, frame: &SolvedFrame, facts: &Facts) -> String {
        // The author's own words already hold the props that matter.
        if let Some(say) = &frame.pose.say {
            let said = self.say.and_then(|known| known.get(say)).unwrap_or(say);
            return if frame.flipped { self.words.mirrored(said) } else { said.clone() };
        }
        let stance = self.usual_stance(frame, facts);
        let named = |kind: &PropKind| frame.props.iter().any(|it| it.kind == *kind);
        let prop =
            TOLD_PROPS.iter().find(|kind| named(kind)).and_then(|kind| self.words.pictures.props.get(kind.name()));
        match prop {
            Some(prop) => format!("{stance} {}", prop.source()),
            None => stance,
        }
    }

    fn usual_stance(&self, frame: &SolvedFrame, facts: &Facts) -> String {
        let phrases = self.phrases();
        let bears = |of: fn(Side) -> Bearing| Side::BOTH.into_iter().find(|side| facts.bearing.contains(&of(*side)));
        let on_chair = frame.pose.rests_on("glute", "chair");
        if on_chair {
            self.plain(&phrases.sitting_on_chair)
        } else if let (true, Some(side)) = (facts.single_leg && facts.upright, bears(Bearing::Foot)) {
            self.sided(&phrases.standing_on_leg, side)
        } else if facts.prone && facts.kneeling {
            self.plain(&phrases.hands_and_knees)
        } else if facts.kneeling {
            self.plain(&phrases.kneeling)
        } else if facts.supine {
            self.plain(&phrases.on_back)
        } else if facts.prone {
            self.plain(&phrases.face_down)
        } else if facts.side_lying {
            let on_left = facts.bearing.contains(&Bearing::Hip(Side::Left));
            self.sided(&phrases.on_side, if on_left { Side::Left } else { Side::Right })
        } else if facts.sitting {
            self.plain(&phrases.sitting_on_floor)
        } else {
            self.plain(&phrases.standing)
        }
    }

    /// What stands out in the joints, most telling first.
    fn notable(&self, frame: &SolvedFrame, facts: &Facts) -> Vec<String> {
        let phrases = self.phrases();
        let mut out = Vec::new();
        let angle = |motion, side| facts.angles.get(&Joint::new(motion, Some(side))).copied().unwrap_or(0.0);
        let overhead = |side: Side| facts.overhead[side.index()];
        self.pair(&mut out, frame, overhead, &phrases.arm_overhead, &phrases.arms_overhead);
        let ahead = |side: Side| {
            let real = frame.side(side);
            let s = &frame.skeleton;
            let reach = s.origin(Bone::Hand(real)) - s.origin(Bone::UpperArm(real));
            reach.dot(s.direction(Bone::Chest, v(1.0, 0.0, 0.0))) > 24.0 && !facts.overhead[side.index()]
        };
        self.pair(&mut out, frame, ahead, &phrases.arm_forward, &phrases.arms_forward);
        let bend = |side| self.bend(angle(Motion::KneeFlexion, side));
        self.limbs(&mut out, frame, bend, &phrases.knee_bent, &phrases.knees_bent);
        let elbow = |side| self.bend(angle(Motion::ElbowFlexion, side));
        self.limbs(&mut out, frame, elbow, &phrases.elbow_bent, &phrases.elbows_bent);
        let way = |degrees: f64| if degrees > 0.0 { Side::Left } else { Side::Right };
        let trunk = [(Motion::ThoracicRotation, &phrases.trunk_turned), (Motion::ThoracicSide, &phrases.trunk_bent)];
        for (motion, phrase) in trunk {
            let degrees = central(&facts.angles, motion);
            if degrees.abs() > 12.0 {
                out.push(self.sided(phrase, way(degrees)));
            }
        }
        let tilt = central(&facts.angles, Motion::NeckSide);
        if tilt.abs() > 14.0 && facts.upright {
            out.push(self.sided(&phrases.head_tilted, way(tilt)));
        }
        if out.is_empty() {
            out.push(self.plain(&phrases.limbs_long));
        }
        out
    }

    fn bend(&self, degrees: f64) -> Option<&str> {
        let phrases = self.phrases();
        let words = match degrees {
            d if d > 115.0 => &phrases.bent_fully,
            d if d > 75.0 => &phrases.bent_square,
            d if d > 38.0 => &phrases.bent_half,
            d if d > 16.0 => &phrases.bent_little,
            _ => return None,
        };
        Some(words.source())
    }

    fn limbs<'w>(
        &self,
        out: &mut Vec<String>,
        frame: &SolvedFrame,
        words: impl Fn(Side) -> Option<&'w str>,
        one: &Template,
        both: &Template,
    ) {
        let [first, second] = sides(frame);
        let bent = |side: Side, words: &str| self.words.phrase(one, Some(side), &[("bend", words)]);
        match (words(first), words(second)) {
            (Some(a), Some(b)) if a == b => out.push(self.words.phrase(both, None, &[("bend", a)])),
            (a, b) => {
                out.extend(a.map(|it| bent(first, it)));
                out.extend(b.map(|it| bent(second, it)));
            }
        }
    }

    fn pair(
        &self,
        out: &mut Vec<String>,
        frame: &SolvedFrame,
        holds: impl Fn(Side) -> bool,
        one: &Template,
        both: &Template,
    ) {
        let [first, second] = sides(frame);
        match (holds(first), holds(second)) {
            (true, true) => out.push(self.plain(both)),
            (true, false) => out.push(self.sided(one, first)),
            (false, true) => out.push(self.sided(one, second)),
            (false, false) => {}
        }
    }

    /// What moves, and which way.
    fn moving(&self, frame: &SolvedFrame) -> Option<[String; 2]> {
        let phrases = self.phrases();
        let (arrow, path) = frame.marks.arrows.iter().zip(&frame.paths).next()?;
        let (first, last) = (path.first()?, path.last()?);
        let mut d = *last - *first;
        if frame.flipped {
            d = d.sided(-1.0);
        }
        let widest = (0..3).fold(0, |best, i| if d.0[i].abs() > d.0[best].abs() { i } else { best });
        let lying = !frame.facts().upright;
        let way = match (widest, d.0[widest] > 0.0, lying) {
            (2, true, _) => self.plain(&phrases.up),
            (2, false, _) => self.plain(&phrases.down),
            (0, true, false) => self.plain(&phrases.forward),
            (0, false, false) => self.plain(&phrases.back),
            (1, true, _) => self.sided(&phrases.to_side, Side::Left),
            (1, false, _) => self.sided(&phrases.to_side, Side::Right),
            _ => {
                let head = frame.skeleton.direction(Bone::Pelvis, v(0.0, 0.0, 1.0));
                let to_head = (*last - *first).dot(head) > 0.0;
                self.plain(if to_head { &phrases.toward_head } else { &phrases.toward_feet })
            }
        };
        let site = frame.site(arrow.site);
        let what = self.words.phrase(self.words.pictures.sites.get(site.name)?, site.side, &[]);
        Some([what, way])
    }

    fn arrows(&self, frame: &SolvedFrame) -> Option<String> {
        let [what, way] = self.moving(frame)?;
        Some(self.words.phrase(&self.phrases().arrow, None, &[("what", &what), ("way", &way)]))
    }

    /// A line for a distance that counts, with the arrow if there is one.
    fn gap(&self, frame: &SolvedFrame) -> Option<String> {
        let site = frame.site(frame.marks.distances.first()?.from);
        let from = self.words.phrase(self.words.pictures.sites.get(site.name)?, site.side, &[]);
        let phrases = self.phrases();
        Some(match self.moving(frame) {
            Some([what, way]) => {
                self.words.phrase(&phrases.arrow_and_gap, None, &[("what", &what), ("way", &way), ("from", &from)])
            }
            None => self.words.phrase(&phrases.gap, None, &[("from", &from)]),
        })
    }

    fn angle(&self, frame: &SolvedFrame) -> Option<String> {
        let site = frame.site(frame.marks.angles.first()?.joint);
        let what = self.words.phrase(self.words.pictures.sites.get(site.name)?, site.side, &[]);
        Some(self.words.phrase(&self.phrases().angle, None, &[("what", &what)]))
    }

    fn feels(&self, frame: &SolvedFrame) -> Option<String> {
        let muscles = frame.marks.feel.iter().map(|it| if frame.flipped { it.mirrored() } else { *it });
        let shown: Vec<String> = muscles
            .filter_map(|it| Some(self.words.phrase(self.words.pictures.muscles.get(it.name)?, it.side, &[])))
            .collect();
        let what = shown.join(&format!(" {} ", self.words.pictures.and));
        (!shown.is_empty()).then(|| self.words.phrase(&self.phrases().mark, None, &[("what", &what)]))
    }

    fn verdict(&self, frame: &SolvedFrame) -> Option<String> {
        frame.marks.verdict.map(|it| match it {
            Verdict::Good => self.plain(&self.phrases().good),
            Verdict::Bad => self.plain(&self.phrases().bad),
        })
    }
}

/// Adds a sentence if the text stays short; tells whether it did.
fn added(text: &mut String, sentence: &str) -> bool {
    let words = text.split_whitespace().chain(sentence.split_whitespace()).count();
    let fits = text.chars().count() + sentence.chars().count() < LONGEST && words <= MOST_WORDS;
    if fits {
        text.push(' ');
        text.push_str(sentence);
    }
    fits
}

fn central(angles: &Angles, motion: Motion) -> f64 {
    angles.get(&Joint::new(motion, None)).copied().unwrap_or(0.0)
}

/// Both sides, in the order that makes a mirrored text the same text with the sides changed.
fn sides(frame: &SolvedFrame) -> [Side; 2] {
    [frame.side(Side::Right), frame.side(Side::Left)]
}
