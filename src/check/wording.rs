//! Whether the library and the standing texts read easily: each exercise and test as a whole by the language's formula,
//! each sentence and step by its lints.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::Arc;

use super::Practice;
use crate::diag::{Problem, Rule, SourceFile};
use crate::library::exercise::Exercise;
use crate::library::test::Test;
use crate::load::Files;
use crate::plain::text::Text;
use crate::plain::{Count, Kind, Lint, Plain};
use crate::template::{Facts, Template};

/// The files whose texts go to paper, by path.
pub(super) fn sources(files: &Files) -> BTreeMap<String, Arc<SourceFile>> {
    let entries = files.tests.iter().chain(files.exercises.iter().map(|(_, entry)| entry)).chain(&files.words);
    let single = [&files.vocabulary, &files.phases, &files.brand].into_iter().flatten();
    entries.map(|entry| &entry.file).chain(single).map(|file| (file.path.clone(), Arc::clone(file))).collect()
}

/// Everything in library and standing texts that is harder to read than the language's file allows.
pub fn wording(practice: &Practice) -> Vec<Problem> {
    let language = &practice.words.language;
    let Some(plain) = practice.plain.get(language) else {
        let path = format!("layouts/quality/{language}.toml");
        let problem = Problem::about(Rule::Unmeasured, path, format!("nothing says how plain `{language}` must be"));
        return vec![problem.help("add the file, with the same keys as layouts/quality/en.toml")];
    };
    let mut reader = Reader { practice, plain, problems: Vec::new() };
    for exercise in practice.library.exercises.values() {
        let path = format!("exercises/{}/{}.toml", exercise.phase, exercise.id);
        reader.whole(&path, &exercise_texts(exercise));
        reader.slow_part(&path, exercise);
    }
    for test in practice.library.tests.values() {
        reader.whole(&format!("exercises/tests/{}.toml", test.id), &test_texts(test));
    }
    reader.texts(
        "exercises/phases.toml",
        practice.library.phases.iter().map(|phase| (Kind::Prose, phase.purpose.as_str())),
    );
    reader.texts("exercises/vocabulary.toml", vocabulary_texts(practice));
    reader.whole(&format!("layouts/words/{language}.toml"), &standing_texts(practice));
    reader.texts("layouts/brand.toml", own_lines(practice).map(|line| (Kind::Prose, line)));
    reader.problems
}

/// The brand's own lines that sheets print as they are, those of each coach among them.
fn own_lines(practice: &Practice) -> impl Iterator<Item = &str> {
    let brand = &practice.brand;
    let lines = brand.coaches.values().map(|coach| &coach.lines).chain([&brand.lines]);
    lines.flat_map(|lines| [&lines.scope_note, &lines.privacy_line]).flatten().map(String::as_str)
}

/// What a reader may stumble on in the brand's own lines, as sheets would say it: it is told once, at the brand.
pub fn own_doubts(practice: &Practice) -> BTreeSet<String> {
    let Some(plain) = practice.plain.get(&practice.words.language) else { return BTreeSet::new() };
    let doubts = own_lines(practice).flat_map(|line| plain.doubts(&Text::new(line), Kind::Prose));
    doubts.filter(|doubt| doubt.lint != Lint::BareNumber).map(|doubt| doubt.to_string()).collect()
}

type Texts<'a> = Vec<(Kind, &'a str)>;

struct Reader<'a> {
    practice: &'a Practice,
    plain: &'a Plain,
    problems: Vec<Problem>,
}

impl Reader<'_> {
    /// Reads texts that stand together on paper, and scores the whole.
    fn whole(&mut self, path: &str, texts: &Texts<'_>) {
        let count = self.texts(path, texts.iter().copied());
        let Some(score) = self.plain.score(count).filter(|score| !score.easy) else {
            return;
        };
        let message = format!(
            "this reads at {:.1} by {}; {:.1} is aimed at ({} words, {} sentences)",
            score.value,
            self.plain.formula.name(),
            self.plain.aim,
            count.words,
            count.sentences
        );
        let problem = Problem::about(Rule::HardToRead, path, message);
        self.problems.push(problem.help("take shorter words and shorter sentences"));
    }

    /// Sheets say of the slow part that it is the step with a certain word.
    fn slow_part(&mut self, path: &str, exercise: &Exercise) {
        let word = self.practice.words.sentences.slow_word.source();
        let says = exercise.steps_with(word);
        if says == 1 || exercise.rungs.iter().all(|rung| rung.dose.lower_s.is_none()) {
            return;
        }
        let message =
            format!("`lower_s` asks for a slow part, and {says} of the steps say “{word}”; sheets go by that word");
        let problem = self.at(path, "lower_s", message);
        self.problems.push(problem.help(format!("write “{word}” in the one step that is slow")));
    }

    fn texts<'t>(&mut self, path: &str, texts: impl Iterator<Item = (Kind, &'t str)>) -> Count {
        let mut total = Count::default();
        for (kind, source) in texts {
            let filled = self.filled(source);
            let text = Text::new(&filled);
            total += self.plain.count(&text, kind);
            // Numbers get their units when a sheet is written, which is measured too.
            let doubts = self.plain.doubts(&text, kind).into_iter().filter(|doubt| doubt.lint != Lint::BareNumber);
            for doubt in doubts {
                let problem = self.at(path, source, doubt.what);
                self.problems.push(problem.help(doubt.cure));
            }
        }
        total
    }

    /// What is wrong with a text of a file, or of one that is not among the sources.
    fn at(&self, path: &str, source: &str, what: String) -> Problem {
        match self.practice.sources.get(path) {
            Some(file) => Problem::at(Rule::Wording, file, place(file, source), what),
            None => Problem::about(Rule::Wording, path, format!("{source}: {what}")),
        }
    }

    /// A text with its gaps filled as they might be. What cannot be filled in is reported elsewhere.
    fn filled(&self, source: &str) -> String {
        let words = &self.practice.words.labels;
        let values = [
            ("side", words.left.source().to_lowercase()),
            ("other_side", words.right.source().to_lowercase()),
            ("tool", "towel".to_owned()),
            ("goal", "walk".to_owned()),
            ("coach", "Kim".to_owned()),
        ];
        let tests = self.practice.library.tests.keys().map(ToString::to_string).collect();
        let facts =
            Facts { values: values.into(), forms: BTreeMap::new(), readings: Arc::default(), tests: Arc::new(tests) };
        Template::new(source).fill(&facts).unwrap_or_else(|_| without_gaps(source))
    }
}

/// A standing text with a number in each gap.
fn without_gaps(source: &str) -> String {
    let mut text = String::new();
    let mut rest = source;
    while let Some((before, gap)) = rest.split_once("{{") {
        text += before;
        text.push('2');
        rest = gap.split_once("}}").map_or("", |(_, after)| after);
    }
    text + rest
}

/// Where a text stands in its file; the start if it is written in another way there.
fn place(file: &SourceFile, source: &str) -> Range<usize> {
    file.text.find(source).map_or(0..0, |at| at..at + source.len())
}

fn exercise_texts(exercise: &Exercise) -> Texts<'_> {
    let prose =
        [&exercise.purpose, &exercise.start, &exercise.feel, &exercise.not_feel, &exercise.slip, &exercise.ease];
    let mut texts: Texts<'_> = vec![(Kind::Phrase, &exercise.name), (Kind::Phrase, &exercise.short)];
    texts.extend(prose.into_iter().chain(&exercise.cautions).map(|text| (Kind::Prose, text.source())));
    texts.extend(exercise.steps.iter().map(|step| (Kind::Step, step.source())));
    texts.extend(exercise.rungs.iter().map(|rung| (Kind::Prose, rung.how.source())));
    texts
}

fn test_texts(test: &Test) -> Texts<'_> {
    let words = &test.words;
    let titles = words.limited.iter().map(Template::source).chain([words.limited_both.as_str(), &words.fine]);
    let meanings = words.meaning.iter().map(Template::source).chain([words.meaning_both.as_str()]);
    let mut texts: Texts<'_> = vec![(Kind::Phrase, &test.name), (Kind::Prose, &test.about)];
    texts.extend(titles.map(|text| (Kind::Prose, text)));
    texts.extend(meanings.map(|text| (Kind::Prose, text)));
    texts.extend(test.grades.iter().map(|grade| (Kind::Phrase, grade.as_str())));
    texts.extend(test.signs.iter().map(|sign| (Kind::Prose, sign.say.source())));
    if let Some(home) = &test.home {
        texts.extend([(Kind::Phrase, home.name.as_str()), (Kind::Prose, &home.note)]);
        texts.extend(home.each_side.iter().map(|head| (Kind::Phrase, head.source())));
        texts.extend(home.steps.iter().map(|step| (Kind::Step, step.as_str())));
    }
    texts
}

fn vocabulary_texts(practice: &Practice) -> impl Iterator<Item = (Kind, &str)> {
    let known = &practice.library.vocabulary;
    let because = known.activities.values().flat_map(|activity| activity.because.values()).map(Template::source);
    let flags = known.flags.values().map(|flag| flag.tell.as_str());
    let rules =
        known.conditions.values().flat_map(|condition| &condition.rules).filter_map(|rule| rule.tell.as_deref());
    let names = known.equipment.values().map(|tool| (Kind::Phrase, tool.name.as_str()));
    because.chain(flags).chain(rules).map(|text| (Kind::Prose, text)).chain(names)
}

/// The standing texts that a client reads: whole sentences as prose, everything else as phrases. Texts for a listener
/// alone are measured with their pictures.
fn standing_texts(practice: &Practice) -> Texts<'_> {
    let words = &practice.words;
    let sentences = words.sentences.all().into_iter().filter(|(key, _)| !key.starts_with("alt_"));
    let signs = [&words.stop_now, &words.stop_today, &words.ease_off, &words.fine, &words.home_safety];
    let mut texts: Texts<'_> =
        words.labels.all().into_iter().map(|(_, label)| (Kind::Phrase, label.source())).collect();
    texts.extend(sentences.map(|(_, text)| {
        let whole = text.source().ends_with(['.', '?', '!']);
        (if whole { Kind::Prose } else { Kind::Phrase }, text.source())
    }));
    texts.extend(signs.into_iter().flatten().map(|sign| (Kind::Prose, sign.source())));
    texts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::check;
    use crate::ids::{ExerciseId, Id};
    use crate::load::load;

    #[test]
    fn a_hard_exercise_and_a_language_without_limits_are_found() {
        let (files, _) = load(std::path::Path::new(env!("CARGO_MANIFEST_DIR")));
        let (practice, _) = check(files);
        let mut practice = practice.unwrap();
        assert_eq!(wording(&practice), []);
        let exercise = practice.library.exercises.get_mut(&ExerciseId::new("chair-squat").unwrap()).unwrap();
        let hard = Template::new("Immediately afterwards reposition your posterior deliberately.");
        exercise.cautions = vec![hard; 9];
        let found = wording(&practice);
        let whole: Vec<_> = found.iter().filter(|problem| problem.rule == Rule::HardToRead).collect();
        assert_eq!(whole.len(), 1, "{found:?}");
        assert_eq!(whole[0].file(), Some("exercises/put-to-use/chair-squat.toml"));
        assert!(found.iter().any(|problem| problem.rule == Rule::Wording), "posterior is no everyday word");
        practice.plain.clear();
        let found = wording(&practice);
        assert_eq!((found.len(), found[0].rule), (1, Rule::Unmeasured));
    }
}
