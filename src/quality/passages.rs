//! The client's reading matter of a sheet: each text with its section, its place and its kind. Goals and names are the
//! client's own and are not measured; neither are doses, dates and tables.

use crate::plain::Kind;
use crate::plain::text::Text;
use crate::word::handout::{Body, Exercise, Handout, Plan, SeeSomeone, Zone};

/// One text.
pub(super) struct Passage<'a> {
    /// The section, for scores.
    pub section: &'static str,
    /// Where a person finds it.
    pub place: String,
    /// Its kind.
    pub kind: Kind,
    /// The text.
    pub text: Text<'a>,
}

/// Where an exercise's card is.
pub(super) fn card(exercise: &Exercise) -> String {
    format!("exercise {}, {}", exercise.n, exercise.name)
}

struct Gather<'a> {
    found: Vec<Passage<'a>>,
}

impl<'a> Gather<'a> {
    fn add(&mut self, section: &'static str, place: &str, kind: Kind, texts: impl IntoIterator<Item = &'a String>) {
        for text in texts.into_iter().filter(|text| !text.is_empty()) {
            self.found.push(Passage { section, place: place.to_owned(), kind, text: Text::new(text) });
        }
    }
}

/// Every text of a sheet that its reader reads as words.
pub(super) fn of(sheet: &Handout) -> Vec<Passage<'_>> {
    let mut gather = Gather { found: Vec::new() };
    let message = &sheet.message;
    gather.add("main message", "the main message", Kind::Phrase, [&message.greeting]);
    gather.add("main message", "the main message", Kind::Prose, message.main.iter().chain([&message.sub]));
    gather.add("main message", "the coach's line", Kind::Prose, &message.note);
    match &sheet.body {
        Body::Plan(plan) => gather.plan(plan),
        Body::SeeSomeone { see } => gather.see(see),
    }
    gather.found
}

impl<'a> Gather<'a> {
    fn plan(&mut self, plan: &'a Plan) {
        self.add("plan", "your plan", Kind::Prose, &plan.rounds);
        self.add("plan", "what you need", Kind::Phrase, &plan.kit);
        self.add("what we found", "what we found", Kind::Prose, [&plan.limits]);
        for finding in &plan.findings {
            let place = format!("what we found, {}", finding.title);
            self.add("what we found", &place, Kind::Phrase, [&finding.title]);
            self.add("what we found", &place, Kind::Prose, finding.sentences.iter().chain([&finding.test]));
            self.add("what we found", &place, Kind::Phrase, finding.grades.iter().map(|line| &line.grade));
        }
        self.add("what we found", "what came out well", Kind::Phrase, plan.well.iter().map(|well| &well.line));
        for phase in &plan.phases {
            self.add("exercises", &format!("part {}", phase.letter), Kind::Prose, [&phase.purpose]);
            phase.exercises.iter().for_each(|exercise| self.exercise(exercise));
        }
        self.add("checks", "check yourself at home", Kind::Prose, &plan.checks.lead);
        for check in &plan.checks.rows {
            let place = format!("check yourself at home, {}", check.name);
            self.add("checks", &place, Kind::Step, &check.steps);
            self.add(
                "checks",
                &place,
                Kind::Prose,
                [&check.note].into_iter().chain(&check.for_you).chain(&check.unknown),
            );
        }
        self.add("diary", "your diary", Kind::Prose, plan.diary.iter().map(|diary| &diary.lead));
        plan.safety.zones.iter().for_each(|zone| self.zone(zone));
        self.add("safety", "stay safe", Kind::Prose, plan.safety.home.iter().chain(&plan.safety.know));
        self.add("safety", "what we left out", Kind::Prose, plan.safety.left_out.iter().map(|[_, why]| why));
    }

    fn exercise(&mut self, exercise: &'a Exercise) {
        let place = card(exercise);
        self.add("exercises", &place, Kind::Phrase, [&exercise.name]);
        let texts = [&exercise.purpose, &exercise.start, &exercise.version, &exercise.effort, &exercise.feel];
        let more = [&exercise.not_feel, &exercise.slip, &exercise.easier, &exercise.harder[0], &exercise.harder[1]];
        self.add("exercises", &place, Kind::Prose, exercise.side_note.iter().chain(texts).chain(more));
        self.add("exercises", &place, Kind::Step, &exercise.steps);
        self.add("exercises", &place, Kind::Prose, exercise.cautions.iter().chain(&exercise.for_you));
        self.add("exercises", &place, Kind::Phrase, exercise.frames.iter().filter_map(|frame| frame.caption.as_ref()));
    }

    fn zone(&mut self, zone: &'a Zone) {
        let place = format!("stay safe, {}", zone.head);
        self.add("safety", &place, Kind::Phrase, [&zone.head]);
        self.add("safety", &place, Kind::Prose, zone.for_you.iter().chain(&zone.items).chain(&zone.act));
    }

    fn see(&mut self, see: &'a SeeSomeone) {
        self.add("see someone", "what to do first", Kind::Prose, &see.act);
        self.add("see someone", "why we ask", Kind::Prose, &see.why);
        self.add("see someone", "what to do now", Kind::Prose, see.meanwhile.iter().chain(&see.answers));
        see.zone.iter().for_each(|zone| self.zone(zone));
        self.add("see someone", "good to know", Kind::Prose, &see.know);
    }
}
