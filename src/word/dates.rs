//! Dates and times in the words of the language.

use jiff::civil::{Date, DateTime, Weekday};

use super::Speech;
use crate::template::{Template, TemplateError};

impl Speech<'_> {
    fn date(&self, sentence: &Template, date: Date) -> Result<String, TemplateError> {
        let weekday = usize::try_from(date.weekday().since(Weekday::Monday)).unwrap_or(0);
        let month = usize::try_from(date.month() - 1).unwrap_or(0);
        let (day, year) = (date.day().to_string(), date.year().to_string());
        let text = self.say(
            sentence,
            &[
                ("day", &day),
                ("year", &year),
                ("weekday", &self.words.weekdays[0][weekday]),
                ("weekday_short", &self.words.weekdays[1][weekday]),
                ("month", &self.words.months[0][month]),
                ("month_short", &self.words.months[1][month]),
            ],
        )?;
        Ok(text)
    }

    /// 24 November 2026.
    pub(super) fn date_long(&self, date: Date) -> Result<String, TemplateError> {
        self.date(&self.words.sentences.date_long, date)
    }

    /// Monday 30 November.
    pub(super) fn date_weekday(&self, date: Date) -> Result<String, TemplateError> {
        self.date(&self.words.sentences.date_weekday, date)
    }

    /// Mon 30 Nov.
    pub(super) fn date_short(&self, date: Date) -> Result<String, TemplateError> {
        self.date(&self.words.sentences.date_short, date)
    }

    /// 30 Nov.
    pub(super) fn date_day(&self, date: Date) -> Result<String, TemplateError> {
        self.date(&self.words.sentences.date_day, date)
    }

    /// Friday 19 February 2027.
    pub(super) fn date_whole(&self, date: Date) -> Result<String, TemplateError> {
        self.date(&self.words.sentences.date_whole, date)
    }

    /// Tuesday 22 December, 5:30 pm.
    pub(super) fn with_time(&self, day: &str, time: DateTime) -> Result<String, TemplateError> {
        let hour = i32::from(time.hour());
        let hour12 = if hour % 12 == 0 { 12 } else { hour % 12 };
        let (hour24, hour12) = (hour.to_string(), hour12.to_string());
        let minute = format!("{:02}", time.minute());
        let units = &self.words.units;
        let half = if hour < 12 { units.am.source() } else { units.pm.source() };
        let gaps = [("hour", hour24.as_str()), ("hour12", &hour12), ("minute", &minute), ("half", half)];
        let clock = self.say(&self.words.sentences.time_of_day, &gaps)?;
        Ok(format!("{day}, {}", super::unbroken(&clock)))
    }

    /// Days of the week in words, Monday first.
    pub(super) fn days_text(&self, days: [bool; 7]) -> Result<String, TemplateError> {
        let on: Vec<usize> = (0..7).filter(|day| days[*day]).collect();
        let sentences = &self.words.sentences;
        match on.len() {
            7 => self.say(&sentences.every_day, &[]),
            6 => {
                let off = (0..7).find(|day| !days[*day]).unwrap_or(6);
                self.say(&sentences.every_day_but, &[("day", &self.words.weekdays[1][off])])
            }
            _ => Ok(on.iter().map(|day| self.words.weekdays[1][*day].as_str()).collect::<Vec<_>>().join(", ")),
        }
    }
}
