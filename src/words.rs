//! The standing texts of one language: everything on paper that is neither library nor record.
//!
//! Labels go to the layouts as they are; sentences are templates that the word stage fills in.

mod counted;
mod pictures;

use std::collections::BTreeMap;

use serde_json::{Map, Value as Json};

use crate::body::{BySide, Side};
use crate::fields::{Fields, Value};
use crate::template::{Facts, Template, sentence_case};

pub use counted::{Counted, Counting};
pub use pictures::{PicturePhrases, PictureWords};

/// Longest standing text, in characters.
const LONGEST: usize = 400;

macro_rules! texts {
    ($(#[$doc:meta])* $name:ident { $($key:ident)* }) => {
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq, Eq)]
        #[allow(missing_docs, reason = "each field is the text of the same key in layouts/words")]
        pub struct $name { $(pub $key: Template,)* }

        impl $name {
            fn read(fields: &Fields<'_>) -> Option<Self> {
                $(let $key = fields.need(stringify!($key)).and_then(|value| value.text(LONGEST));)*
                fields.done();
                Some(Self { $($key: Template::new($key?.value),)* })
            }

            /// Every text with its key.
            pub fn all(&self) -> Vec<(&'static str, &Template)> {
                vec![$((stringify!($key), &self.$key),)*]
            }
        }
    };
}
use texts;

texts! {
    /// Short words that layouts place by themselves; they have no gaps.
    Labels {
        sheet for_client page of part goal plan minutes_a_day min rest_day
        left right left_short right_short both
        pain_scale you_need dates first_day check_days no_checks next_visit questions
        found how_to_read usual now before noise test came_out_well also_measured measured_why no_range
        start your_version how_hard feel not_feel watch_out easier harder for_you
        check check_date diary week worst_pain to_do check_here
        why_we_ask what_now safety stop_today ease_off fine left_out left_out_what left_out_why who_to_ask good_to_know
        notes
        changed changed_program number exercise change_word what_to_do why
        same harder_now easier_now more less new stopped swapped
    }
}

texts! {
    /// Short words of the coach's record; they have no gaps.
    RecordLabels {
        record_of record goal age visit coach sheet_number minutes_a_day free_days equipment lacks no_positions next_visit
        gate_open gate_closed not_for_client none safety level rule reason overridden_by on why clearances missing
        pain_in_tests tests test reference error side now before change verdict scale seen needs need weight
        evidence_for evidence_against program number exercise dose days minutes gain why_in minutes_used day used given
        stretch structure in_a_week aim warning unmet unlock left_out near_misses notes judge judge_item question answer signed date
        changes readings since_last since_first decisions went rules_say decided
    }
}

texts! {
    /// Sentences with gaps.
    Sentences {
        title title_see_someone greeting greeting_well greeting_see_someone
        main_well starts go_down
        rounds_explained rounds_each_side slow_part slow_word kit_exercises kit_checks pain_pointer
        limits all_well keep_going seen
        effort_light effort_medium effort_medium_timed each_time one_side_first rung_step_up rung_ask_first rung_top
        check_lead check_pain check_better check_worse check_or_more check_or_less check_unknown
        diary_lead diary_go_on diary_until week_of week_visit
        stop_now_head stop_now_person stop_today_head ease_off_head fine_head
        call_emergency call_emergency_own call_today call_tomorrow out_of_hours own_out_of_hours
        benefit scope show_doctor answer_hours
        waits_for draft fallback fallback_own
        see_emergency see_same_day see_refer_before see_missing see_meanwhile see_bring see_emergency_no_wait see_after
        alt_range_bar alt_side alt_before alt_usual alt_usual_from alt_usual_to alt_usual_none alt_logo
        range_band counts_from limited about_usual near_usual more_than_usual measured
        does_less does_more alike works_later replaces change_lead kept_days kept_well kept_few discomfort_from discomfort_now by_chance see_worse see_no_change
        verdict_clearly_better verdict_better verdict_maybe_better verdict_same verdict_worse verdict_none
        verdict_go_on verdict_check verdict_talk better_since_start
        change_more change_less change_none other_way error_unknown alt_chart alt_point
        do_same do_new do_stop do_dose do_days coach_chose new_for
        test_on_side date_day date_long date_whole date_weekday date_short time_of_day every_day every_day_but
    }
}

texts! {
    /// Labels and sentences of the library in print: book, poster, cards.
    BookWords {
        title title_poster title_cards counts as_of note_sides note_scope note_poster any_goal any_coach contents
        tests test_mark by_region by_structure by_equipment by_position sources sources_lead source
        versions version_needs version_asks dose effort works_on needs position time minutes minutes_each
        nothing or_instead sides_one sides_each sides_one_or_each sides_both shown other_side take_care
        short overbusy weak slow stiff from_to from at_most
        shows how test_stops watch_for method read_in to_nearest left_and_right whole_body more_is_better less_is_better
        grades grade_steps usual no_usual sem mdc no_error worthwhile sides_differ send_on sends_on_from sends_on_beyond
        verdict no_verdict points_to age women men anyone cut_note
    }
}

texts! {
    /// Words for units, and small words between others.
    UnitWords {
        cm inch deg s kg lb
        cm_word inch_word deg_word s_word count_word kg_word lb_word
        each_side and am pm
    }
}

macro_rules! counted {
    ($(#[$doc:meta])* $name:ident { $($key:ident)* }) => {
        $(#[$doc])*
        #[derive(Clone, Debug)]
        #[allow(missing_docs, reason = "each field is the text of the same key in layouts/words")]
        pub struct $name { $(pub $key: Counted,)* }

        impl $name {
            fn read(fields: &Fields<'_>, counting: &Counting) -> Option<Self> {
                $(let $key = Counted::read(fields, stringify!($key), counting, LONGEST);)*
                fields.done();
                Some(Self { $($key: $key?,)* })
            }

            /// Every text with its key.
            pub fn all(&self) -> Vec<(&'static str, &Counted)> {
                vec![$((stringify!($key), &self.$key),)*]
            }
        }
    };
}

counted! {
    /// Texts that change with a number.
    CountedTexts {
        main minutes_one minutes_range works_on
        count rounds times hold moving slow rest days
    }
}

texts! {
    /// Texts of the papers beside the handout; those of letters have gaps.
    Papers {
        glance cards diary booklet cut my_week exercise warned
        video video_alt
        letter letter_to letter_to_emergency letter_to_same_day letter_to_before
        letter_head letter_head_place letter_place letter_born
        letter_ask_head letter_ask_place letter_ask_emergency letter_ask_same_day letter_ask_before
        letter_who letter_why_head letter_yes letter_reading letter_condition letter_form letter_pressure
        letter_measured letter_usual letter_error letter_pain usual_between usual_from usual_to
        letter_done_head letter_waits letter_on_hold letter_elsewhere letter_no_plan letter_scope letter_close
        letter_consent letter_reply letter_reply_free letter_reply_limits letter_reply_wait letter_name letter_signature letter_date
    }
}

/// The standing texts of one language.
#[derive(Clone, Debug)]
pub struct Words {
    /// The language, such as `en`.
    pub language: String,
    /// The language's own name for itself.
    pub name: String,
    /// Whether no fluent reader has read these texts yet.
    pub draft: bool,
    /// What stands between whole and part of a number.
    pub decimal: String,
    /// Left and right in running text, by form: `plain`, and what else the language needs.
    pub sides: BTreeMap<String, BySide<String>>,
    /// Texts that change with a number.
    pub counted: CountedTexts,
    /// What pictures show.
    pub pictures: PictureWords,
    /// Labels.
    pub labels: Labels,
    /// Labels of the coach's record.
    pub record: RecordLabels,
    /// Texts of the papers beside the handout.
    pub papers: Papers,
    /// Labels and sentences of the library in print.
    pub book: BookWords,
    /// Sentences.
    pub sentences: Sentences,
    /// Units.
    pub units: UnitWords,
    /// Weekdays from Monday: full, short and two-letter.
    pub weekdays: [Vec<String>; 3],
    /// Months from January: full and short.
    pub months: [Vec<String>; 2],
    /// Signs to stop for at once.
    pub stop_now: Vec<Template>,
    /// Signs to stop for today.
    pub stop_today: Vec<Template>,
    /// Signs to ease off.
    pub ease_off: Vec<Template>,
    /// What is fine.
    pub fine: Vec<Template>,
    /// How to make the place safe.
    pub home_safety: Vec<Template>,
}

/// The form of left and right that the gaps `side` and `other_side` stand for.
const PLAIN: &str = "plain";

/// Reads `plain = ["left", "right"]` and further forms.
fn sides(fields: &Fields<'_>) -> Option<BTreeMap<String, BySide<String>>> {
    let plain = fields.need(PLAIN).and_then(|value| both_sides(&value));
    let others = fields.entries().into_iter().filter(|(form, _)| form.value != PLAIN);
    let mut forms: BTreeMap<_, _> =
        others.map(|(form, value)| Some((form.value, both_sides(&value)?))).collect::<Option<_>>()?;
    forms.insert(PLAIN.to_owned(), plain?);
    Some(forms)
}

/// Reads the word for left and the one for right.
fn both_sides(value: &Value<'_>) -> Option<BySide<String>> {
    let words: Vec<String> = value.list()?.iter().filter_map(|v| v.text(20)).map(|at| at.value).collect();
    match <[String; 2]>::try_from(words) {
        Ok([left, right]) => Some(BySide { left, right }),
        Err(_) => value.refuse(
            crate::diag::Rule::BadValue,
            "a form of left and right must hold two words",
            "write the word for left, then the one for right",
        ),
    }
}

impl Words {
    /// Reads the standing texts; problems go to the fields' sink.
    pub fn read(language: &str, fields: &Fields<'_>) -> Option<Self> {
        let name = fields.need("name").and_then(|v| v.text(40));
        let draft = fields.get("draft").map_or(Some(false), |v| v.yes());
        let decimal = fields.need("decimal").and_then(|v| v.one_of(&[(".", "."), (",", ",")]));
        let sides = fields.need("sides").and_then(|v| v.table()).and_then(|f| sides(&f));
        let counting = Counting::of(language);
        let counted = fields.need("counted").and_then(|v| v.table()).and_then(|f| CountedTexts::read(&f, &counting));
        let labels = fields.need("labels").and_then(|v| v.table()).and_then(|f| Labels::read(&f));
        let record = fields.need("record").and_then(|v| v.table()).and_then(|f| RecordLabels::read(&f));
        let papers = fields.need("papers").and_then(|v| v.table()).and_then(|f| Papers::read(&f));
        let book = fields.need("book").and_then(|v| v.table()).and_then(|f| BookWords::read(&f));
        let sentences = fields.need("sentences").and_then(|v| v.table()).and_then(|f| Sentences::read(&f));
        let units = fields.need("units").and_then(|v| v.table()).and_then(|f| UnitWords::read(&f));
        let names = |key: &str, count: usize| -> Option<Vec<String>> {
            let value = fields.need(key)?;
            let names: Vec<String> = value.list()?.iter().filter_map(|v| v.text(20)).map(|at| at.value).collect();
            if names.len() == count {
                return Some(names);
            }
            value.refuse(
                crate::diag::Rule::BadValue,
                format!("`{key}` has {} names, but must have {count}", names.len()),
                "write one name for each",
            )
        };
        let weekdays = [names("weekdays", 7), names("weekdays_short", 7), names("weekdays_two", 7)];
        let months = [names("months", 12), names("months_short", 12)];
        let list = |key: &str| -> Option<Vec<Template>> {
            fields.need(key)?;
            Some(fields.texts(key, 160).into_iter().map(|at| Template::new(at.value)).collect())
        };
        let (stop_now, stop_today, ease_off) = (list("stop_now"), list("stop_today"), list("ease_off"));
        let (fine, home_safety) = (list("fine"), list("home_safety"));
        let and = units.as_ref().map_or("", |units: &UnitWords| units.and.source());
        let pictures = fields.need("pictures").and_then(|v| v.table()).and_then(|f| PictureWords::read(&f, and));
        let [full, short, two] = weekdays;
        let [months, months_short] = months;
        Some(Self {
            language: language.to_owned(),
            name: name?.value,
            draft: draft?,
            decimal: decimal?.to_owned(),
            sides: sides?,
            counted: counted?,
            pictures: pictures?,
            labels: labels?,
            record: record?,
            papers: papers?,
            book: book?,
            sentences: sentences?,
            units: units?,
            weekdays: [full?, short?, two?],
            months: [months?, months_short?],
            stop_now: stop_now?,
            stop_today: stop_today?,
            ease_off: ease_off?,
            fine: fine?,
            home_safety: home_safety?,
        })
    }

    /// A number as it is printed: with the language's decimal sign and a true minus.
    pub fn number(&self, number: &str) -> String {
        number.replace('.', &self.decimal).replace('-', "\u{2212}")
    }

    /// Left or right in running text.
    pub fn side(&self, side: Side) -> &str {
        self.sides.get(PLAIN).map_or(side.key(), |words| words.get(side))
    }

    /// Both sides in every form but the plain one, as gaps of a text about `side`.
    pub fn side_forms(&self, side: Side) -> BTreeMap<String, String> {
        let forms = self.sides.iter().filter(|(form, _)| *form != PLAIN);
        forms
            .flat_map(|(form, words)| {
                [
                    (format!("side_{form}"), words.get(side).clone()),
                    (format!("other_side_{form}"), words.get(side.other()).clone()),
                ]
            })
            .collect()
    }

    /// A phrase about a picture. Its gaps have been tried when it was read.
    pub fn phrase(&self, phrase: &Template, side: Option<Side>, gaps: &[(&'static str, &str)]) -> String {
        let mut facts = Facts::default();
        facts.values.extend(gaps.iter().map(|(name, value)| (*name, (*value).to_owned())));
        if let Some(side) = side {
            facts.values.insert("side", self.side(side).to_owned());
            facts.forms = self.side_forms(side);
        }
        phrase.fill(&facts).unwrap_or_else(|_| phrase.source().to_owned())
    }

    /// The text with left and right changed over, in every form of the two: for words about a mirrored picture.
    pub fn mirrored(&self, text: &str) -> String {
        let swap = |word: &str| {
            let small = word.to_lowercase();
            let other = self.sides.values().find_map(|words| match small {
                _ if small == words.left => Some(words.right.as_str()),
                _ if small == words.right => Some(words.left.as_str()),
                _ => None,
            });
            match other {
                Some(other) if small == word => other.to_owned(),
                Some(other) => sentence_case(other),
                None => word.to_owned(),
            }
        };
        let mut out = String::new();
        let mut word = String::new();
        for c in text.chars() {
            if c.is_alphabetic() {
                word.push(c);
            } else {
                out.push_str(&swap(&std::mem::take(&mut word)));
                out.push(c);
            }
        }
        out + &swap(&word)
    }

    /// The labels as data for the layouts.
    pub fn labels_json(&self) -> Json {
        let mut labels: Map<String, Json> =
            self.labels.all().into_iter().map(|(key, text)| (key.to_owned(), Json::from(text.source()))).collect();
        let papers = self.papers.all().into_iter().map(|(key, text)| (key.to_owned(), Json::from(text.source())));
        labels.insert("papers".into(), Json::Object(papers.collect()));
        labels.insert("decimal".into(), Json::from(self.decimal.clone()));
        labels.insert("weekdays".into(), Json::from(self.weekdays[1].clone()));
        labels.insert("weekdays_two".into(), Json::from(self.weekdays[2].clone()));
        Json::Object(labels)
    }

    /// The labels of the library in print, and the common ones that it shares; its sentences have been said by then.
    pub fn book_json(&self) -> Json {
        let mut labels = self.labels_json();
        if let Json::Object(all) = &mut labels {
            let plain = self.book.all().into_iter().filter(|(_, text)| text.is_plain());
            all.extend(plain.map(|(key, text)| (key.to_owned(), Json::from(text.source()))));
        }
        labels
    }

    /// The labels of the coach's record, and the common ones that it shares.
    pub fn record_json(&self) -> Json {
        let mut labels = self.labels_json();
        if let Json::Object(all) = &mut labels {
            all.extend(self.record.all().into_iter().map(|(key, text)| (key.to_owned(), Json::from(text.source()))));
        }
        labels
    }
}
