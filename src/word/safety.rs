//! The safety page, and the page that sends a client on instead of a plan.

use super::Writer;
use super::handout::{Safety, SeeSomeone, Zone};
use crate::brand::Lines;
use crate::library::vocabulary::Level;
use crate::plan::Program;
use crate::safety::Reason;
use crate::template::{Template, TemplateError, isolated};

impl Writer<'_> {
    /// The coach's own standing lines, and the practice's where there are none.
    pub(super) fn standing_lines(&self) -> Lines {
        self.coach.lines.or(&self.brand.lines)
    }

    fn emergency(&self) -> Result<String, TemplateError> {
        let sentences = &self.words.sentences;
        match self.standing_lines().emergency_line {
            Some(line) => self.say(&sentences.call_emergency_own, &[("line", &line)]),
            None => self.say(&sentences.call_emergency, &[]),
        }
    }

    /// Signs with the numbers of the one pain scale.
    fn signs(&self, signs: &[Template]) -> Result<Vec<String>, TemplateError> {
        let pain = &self.library.vocabulary.pain;
        let (fine_to, next, ease_to) =
            (pain.fine_to.to_string(), (pain.fine_to + 1).to_string(), pain.ease_to.to_string());
        let gaps = [("fine_to", fine_to.as_str()), ("fine_to_next", &next), ("ease_to", &ease_to)];
        signs.iter().map(|sign| self.say(sign, &gaps)).collect()
    }

    fn stop_now(&self) -> Result<Zone, TemplateError> {
        let sentences = &self.words.sentences;
        Ok(Zone {
            icon: "stop",
            head: self.say(&sentences.stop_now_head, &[("emergency", &self.emergency()?)])?,
            for_you: Vec::new(),
            items: self.signs(&self.words.stop_now)?,
            act: vec![self.say(&sentences.stop_now_person, &[])?],
        })
    }

    /// Whom to call, and who answers when the coach does not.
    fn answers(&self) -> Result<Vec<String>, TemplateError> {
        let sentences = &self.words.sentences;
        let hours = self.say(&sentences.answer_hours, &[("coach", &self.coach.call), ("hours", &self.coach.hours)])?;
        let otherwise = match self.standing_lines().out_of_hours {
            Some(line) => self.say(&sentences.own_out_of_hours, &[("line", &line)])?,
            None => self.say(&sentences.out_of_hours, &[])?,
        };
        Ok(vec![format!("{}.", hours.trim_end_matches('.')), otherwise])
    }

    fn know(&self) -> Result<Vec<String>, TemplateError> {
        let sentences = &self.words.sentences;
        let lines = self.standing_lines();
        let scope = match lines.scope_note {
            Some(note) => note,
            None => self.say(&sentences.scope, &[("coach", &self.coach.name), ("role", &self.coach.role)])?,
        };
        let show = self.say(&sentences.show_doctor, &[])?;
        Ok([scope, show].into_iter().chain(lines.privacy_line).collect())
    }

    pub(super) fn safety(&self, program: &Program) -> Result<Safety, TemplateError> {
        let sentences = &self.words.sentences;
        let phone = super::unbroken(&self.coach.phone);
        let coach = [("coach", self.coach.call.as_str()), ("phone", &phone)];
        let mut answers = vec![self.say(&sentences.call_today, &coach)?];
        answers.extend(self.answers()?);
        // What an emergency is holds for everyone; the rest is about exercise.
        let mut zones = vec![self.stop_now()?];
        if !program.items.is_empty() || !self.visit.watch.is_empty() {
            zones.push(Zone {
                icon: "call",
                head: self.say(&sentences.stop_today_head, &[])?,
                for_you: self.visit.watch.iter().map(|sign| isolated(sign)).collect(),
                items: self.signs(&self.words.stop_today)?,
                act: answers,
            });
        }
        if !program.items.is_empty() {
            zones.push(Zone {
                icon: "easier",
                head: self.say(&sentences.ease_off_head, &[])?,
                for_you: Vec::new(),
                items: self.signs(&self.words.ease_off)?,
                act: vec![self.say(&sentences.call_tomorrow, &coach)?],
            });
            zones.push(Zone {
                icon: "ok",
                head: self.say(&sentences.fine_head, &[])?,
                for_you: Vec::new(),
                items: self.signs(&self.words.fine)?,
                act: Vec::new(),
            });
        }
        let mut know = Vec::new();
        let mut home = Vec::new();
        if !program.items.is_empty() {
            know.push(self.say(&sentences.benefit, &[])?);
            home = self.signs(&self.words.home_safety)?;
        }
        know.extend(self.know()?);
        let mut left_out: Vec<[String; 2]> =
            self.visit.left_out.iter().map(|(what, why)| [isolated(what), isolated(why)]).collect();
        for waits in &program.waits {
            let name = self.library.exercises.get(&waits.exercise).map(|exercise| exercise.name.clone());
            let why = self.say(&sentences.waits_for, &[("who", &waits.to)])?;
            left_out.push([name.unwrap_or_else(|| waits.exercise.to_string()), why]);
        }
        Ok(Safety { zones, home, left_out, know })
    }

    pub(super) fn see_someone(&self, level: Level, reasons: &[(Level, Reason)]) -> Result<SeeSomeone, TemplateError> {
        let sentences = &self.words.sentences;
        let mut act = match level {
            Level::Emergency => vec![
                self.say(&sentences.see_emergency, &[("emergency", &self.emergency()?)])?,
                self.say(&sentences.see_emergency_no_wait, &[])?,
            ],
            Level::SameDay => vec![self.say(&sentences.see_same_day, &[])?],
            Level::ReferBefore | Level::Modify | Level::Caution => {
                vec![self.say(&sentences.see_refer_before, &[])?]
            }
        };
        let is_open = |reason: &Reason| matches!(reason, Reason::Unasked(_) | Reason::Lapsed(_));
        let only_unasked = reasons.iter().all(|(_, reason)| is_open(reason));
        let missing = self.say(&sentences.see_missing, &[("coach", &self.coach.call)])?;
        if only_unasked {
            // Nothing was found: the questions are still to be asked, by the coach.
            act = vec![missing.clone()];
        }
        let mut why: Vec<String> = Vec::new();
        for (_, reason) in reasons {
            let tell = match reason {
                Reason::Flag(flag) | Reason::Reading(_, flag) => {
                    self.library.vocabulary.flags.get(flag).map(|flag| flag.tell.clone())
                }
                // What the client told the coach in trust is not printed; the coach explains it in person.
                Reason::Condition(_) | Reason::Form(_) => None,
                Reason::Unasked(_) | Reason::Lapsed(_) => (!only_unasked).then(|| missing.clone()),
            };
            why.extend(tell.filter(|tell| !why.contains(tell)));
        }
        let mut meanwhile = vec![self.say(&sentences.see_meanwhile, &[])?];
        if !only_unasked {
            meanwhile.push(self.say(&sentences.see_bring, &[])?);
            meanwhile.push(self.say(&sentences.see_after, &[])?);
        }
        // Never "wait for me" in the two most urgent cases (safety.md section 8).
        let answers =
            if level <= Level::SameDay { vec![self.say(&sentences.out_of_hours, &[])?] } else { self.answers()? };
        Ok(SeeSomeone {
            urgent: level == Level::Emergency,
            act,
            why,
            meanwhile,
            zone: if level == Level::Emergency { None } else { Some(self.stop_now()?) },
            answers,
            know: self.know()?,
        })
    }
}
