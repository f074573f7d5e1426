//! Sentences and words of a text.

/// The sentences of a text. A colon before a new sentence ends one too, as a lead-in does on paper.
pub fn sentences(text: &str) -> Vec<&str> {
    let mut found = Vec::new();
    let mut start = 0;
    let letters: Vec<(usize, char)> = text.char_indices().collect();
    for (index, (_, c)) in letters.iter().enumerate() {
        // A quote or bracket that closes belongs to the sentence.
        let closing = letters[index + 1..].iter().take_while(|(_, c)| "”’\"'»)".contains(*c)).count();
        let mut rest = letters[index + 1 + closing..].iter().map(|(_, c)| *c);
        let end = match c {
            '.' | '!' | '?' | '…' => rest.next().is_none_or(char::is_whitespace),
            ':' => rest.next().is_none_or(char::is_whitespace) && rest.next().is_none_or(char::is_uppercase),
            _ => false,
        };
        if end {
            let stop = letters.get(index + 1 + closing).map_or(text.len(), |(at, _)| *at);
            found.push(text[start..stop].trim());
            start = stop;
        }
    }
    found.push(text[start..].trim());
    found.retain(|sentence| sentence.chars().any(char::is_alphanumeric));
    found
}

/// The words of a text in lower case, without the marks around them. A compound with a hyphen is one word.
pub fn words(text: &str) -> Vec<String> {
    text.split(|c: char| c.is_whitespace() || "–—/".contains(c))
        .map(|word| word.trim_matches(|c: char| !c.is_alphanumeric() && c != '%' && c != '°').to_lowercase())
        .filter(|word| !word.is_empty())
        .map(|word| word.replace('’', "'"))
        .collect()
}

/// The words that count for a score: those without a digit or a sign.
pub fn counted(text: &str) -> Vec<String> {
    let mut words = words(text);
    words.retain(|word| word.chars().any(char::is_alphabetic) && !word.chars().any(|c| c.is_ascii_digit()));
    words
}

/// Where `phrase`, one word or several, stands in `words`, as the index of its first word.
pub fn find(words: &[String], phrase: &str) -> Option<usize> {
    let stands_at = |at: &usize| {
        let mut rest = words[*at..].iter();
        phrase.split(' ').all(|wanted| rest.next().is_some_and(|word| word == wanted))
    };
    (0..words.len()).find(stands_at)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sentences_end_at_marks_and_before_a_new_lead() {
        assert_eq!(sentences("Hold 2.5 cm away. Why? Stop!"), ["Hold 2.5 cm away.", "Why?", "Stop!"]);
        assert_eq!(sentences("With pain of 2 or less: Step back."), ["With pain of 2 or less:", "Step back."]);
        assert_eq!(sentences("Each side means: do a round."), ["Each side means: do a round."]);
        assert_eq!(sentences("Say “now.” Then go"), ["Say “now.”", "Then go"]);
        assert_eq!(sentences(" . "), [""; 0]);
    }

    #[test]
    fn words_are_bare_and_numbers_do_not_count() {
        assert_eq!(
            words("Don’t bend, hold 2\u{a0}sec (side-lying)."),
            ["don't", "bend", "hold", "2", "sec", "side-lying"]
        );
        assert_eq!(counted("Hold 2 sec, 10° or 5–10 %."), ["hold", "sec", "or"]);
    }

    #[test]
    fn phrases_are_found_as_whole_words() {
        let words = words("Do half of it, not behalf of us.");
        assert_eq!(find(&words, "half of"), Some(1));
        assert_eq!(find(&words, "alf"), None);
    }
}
