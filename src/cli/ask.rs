//! Answers from the command line or, where something is missing and somebody is there, from the terminal.

use std::io::{self, BufRead, IsTerminal, Write};

use crate::diag::{Problem, Rule, meant};

/// One thing to be told.
pub struct Question<'a> {
    /// The option that answers it, such as `--phase`.
    pub option: &'a str,
    /// What is asked.
    pub ask: &'a str,
    /// The usual answer, if there is one.
    pub usual: Option<String>,
    /// Every answer that is allowed; none means any text.
    pub allowed: Vec<String>,
}

/// Most answers that are listed on one line.
const FEW: usize = 12;

impl Question<'_> {
    /// The answer given as an option, or typed in a terminal, or the usual one.
    ///
    /// # Errors
    /// If the given answer is not allowed, or there is none and nobody to ask.
    pub fn answer(&self, given: Option<&str>) -> Result<String, Problem> {
        self.answer_from(given, io::stdin().is_terminal().then(|| io::stdin().lock()))
    }

    fn answer_from(&self, given: Option<&str>, mut terminal: Option<impl BufRead>) -> Result<String, Problem> {
        if let Some(given) = given {
            return self.fits(given);
        }
        let Some(terminal) = &mut terminal else {
            return self.usual.clone().ok_or_else(|| self.unanswered());
        };
        loop {
            self.put();
            let mut line = String::new();
            match terminal.read_line(&mut line) {
                Ok(length) if length > 0 => {}
                Ok(_) | Err(_) => return Err(self.unanswered()),
            }
            let typed = line.trim();
            let fitting = match (&self.usual, typed.is_empty()) {
                (Some(usual), true) => Ok(usual.clone()),
                (None, true) => {
                    Err(Problem::about(Rule::MissingKey, self.option, "an answer is needed").help(self.choice()))
                }
                (_, false) => self.fits(typed),
            };
            match fitting {
                Ok(answer) => return Ok(answer),
                Err(problem) => {
                    let _ = writeln!(io::stderr(), "{}: {}", problem.message, problem.help.unwrap_or_default());
                }
            }
        }
    }

    fn put(&self) {
        let mut out = io::stdout().lock();
        if !self.allowed.is_empty() {
            for row in self.allowed.chunks(FEW / 2) {
                let _ = writeln!(out, "  {}", row.join("  "));
            }
        }
        let usual = self.usual.as_ref().map_or_else(String::new, |usual| format!(" [{usual}]"));
        let _ = write!(out, "{}{usual}: ", self.ask);
        let _ = out.flush();
    }

    fn fits(&self, given: &str) -> Result<String, Problem> {
        if self.allowed.is_empty() || self.allowed.iter().any(|word| word == given) {
            return Ok(given.to_owned());
        }
        // Who types `shoulder` wants one of the few names that begin with it or hold it.
        let like: Vec<&str> = self.allowed.iter().map(String::as_str).filter(|word| word.contains(given)).collect();
        let help = meant(given, self.allowed.iter().map(String::as_str), || match like[..] {
            [] => self.choice(),
            _ => format!("perhaps one of: {}", like.join(", ")),
        });
        Err(Problem::about(Rule::BadValue, self.option, format!("cannot be `{given}`")).help(help))
    }

    fn choice(&self) -> String {
        format!("choose one of: {}", self.allowed.join(", "))
    }

    fn unanswered(&self) -> Problem {
        let help = if self.allowed.is_empty() { format!("give it: {}", self.ask) } else { self.choice() };
        Problem::about(Rule::MissingKey, self.option, "is needed, and there is no terminal to ask in").help(help)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn question(usual: Option<&str>) -> Question<'static> {
        let allowed = vec!["loosen".to_owned(), "stretch".to_owned()];
        Question { option: "--phase", ask: "When is it done", usual: usual.map(str::to_owned), allowed }
    }

    const NOBODY: Option<&[u8]> = None;

    #[test]
    fn an_option_comes_first_and_must_fit() {
        assert_eq!(question(None).answer_from(Some("stretch"), NOBODY), Ok("stretch".to_owned()));
        let problem = question(None).answer_from(Some("strech"), NOBODY).unwrap_err();
        assert_eq!(problem.help.as_deref(), Some("did you mean `stretch`?"));
    }

    #[test]
    fn a_part_of_a_name_leads_to_those_that_hold_it() {
        let problem = question(None).answer_from(Some("tre"), NOBODY).unwrap_err();
        assert_eq!(problem.help.as_deref(), Some("perhaps one of: stretch"));
    }

    #[test]
    fn without_a_terminal_the_usual_answer_holds() {
        assert_eq!(question(Some("loosen")).answer_from(None, NOBODY), Ok("loosen".to_owned()));
        let problem = question(None).answer_from(None, NOBODY).unwrap_err();
        assert_eq!((problem.rule, problem.file()), (Rule::MissingKey, Some("--phase")));
        assert_eq!(problem.help.as_deref(), Some("choose one of: loosen, stretch"));
    }

    #[test]
    fn in_a_terminal_it_is_asked_until_it_fits() {
        let typed = |text: &'static str| Some(text.as_bytes());
        assert_eq!(question(None).answer_from(None, typed("\nstrech\nstretch\n")), Ok("stretch".to_owned()));
        assert_eq!(question(Some("loosen")).answer_from(None, typed("\n")), Ok("loosen".to_owned()));
        assert!(question(None).answer_from(None, typed("strech\n")).is_err(), "nothing more was typed");
    }
}
