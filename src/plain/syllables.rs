//! Syllables of a word, by rule. Words that a rule gets wrong stand in the language's file.

/// Syllables of an English word in lower case (handout-quality 5.4).
pub fn english(word: &str) -> usize {
    word.split('-').map(english_part).sum::<usize>().max(1)
}

fn english_part(word: &str) -> usize {
    let word: Vec<char> = word.chars().filter(|c| c.is_alphabetic()).collect();
    let text: String = word.iter().collect();
    let at = |from_end: usize| word.len().checked_sub(from_end).map(|i| word[i]);
    let vowel = |c: Option<char>| c.is_some_and(|c| "aeiouyé".contains(c));
    let mut count = runs(&word, "aeiouyé") as isize;
    // A consonant and `-le` sounds: table, muscles, doubled.
    let le =
        |from_end: usize| at(from_end + 1) == Some('l') && at(from_end + 2).is_some_and(|c| !"aeiouyélrwh".contains(c));
    if text.ends_with('e') && !vowel(at(2)) && !le(1) {
        count -= 1;
    } else if text.ends_with("es") && !vowel(at(3)) && !le(2) {
        let hisses = ["s", "x", "z", "c", "g"].iter().any(|end| text[..text.len() - 2].ends_with(end))
            || text.ends_with("ches")
            || text.ends_with("shes");
        count -= isize::from(!hisses);
    } else if text.ends_with("ed") && !vowel(at(3)) && !le(2) {
        count -= isize::from(!matches!(at(3), Some('t' | 'd')));
    }
    // A silent e before an ending: safely, careful, movement.
    for ending in ["ely", "eful", "efully", "ement", "ements", "eless", "eness"] {
        if text.ends_with(ending) && text.len() > ending.len() + 2 && !vowel(at(ending.len() + 1)) {
            count -= 1;
        }
    }
    for pair in ["ia", "io", "eo", "iu", "ua"] {
        for (found, _) in text.match_indices(pair) {
            let (before, after) = (text[..found].chars().last(), &text[found + 2..]);
            let soft = pair.starts_with('i') && matches!(before, Some('t' | 's' | 'c' | 'g' | 'h'));
            let silent_u = pair == "ua" && matches!(before, Some('q' | 'g'));
            count += isize::from(!(soft || silent_u || pair == "eo" && after.starts_with('u')));
        }
    }
    for ending in ["ying", "oing"] {
        count += isize::from(text.ends_with(ending));
    }
    usize::try_from(count).unwrap_or(0).max(1)
}

/// Syllables of a Spanish word in lower case: two strong vowels part, a weak one joins unless it is accented.
pub fn spanish(word: &str) -> usize {
    let letters: Vec<char> = word.chars().filter(|c| c.is_alphabetic()).collect();
    let mut count = 0;
    let mut run: Vec<char> = Vec::new();
    let close = |run: &mut Vec<char>, count: &mut usize| {
        if !run.is_empty() {
            *count += run.iter().filter(|c| "aeoáéóíú".contains(**c)).count().max(1);
            run.clear();
        }
    };
    for (index, c) in letters.iter().enumerate() {
        let before = index.checked_sub(1).map(|i| letters[i]);
        let after = letters.get(index + 1).copied();
        // The u of que, qui, gue and gui is not heard.
        let silent = *c == 'u' && matches!(before, Some('q' | 'g')) && matches!(after, Some('e' | 'i' | 'é' | 'í'));
        let sounds = "aeiouáéíóúü".contains(*c) || (*c == 'y' && after.is_none());
        if sounds && !silent {
            run.push(*c);
        } else if !silent {
            close(&mut run, &mut count);
        }
    }
    close(&mut run, &mut count);
    count.max(1)
}

fn runs(word: &[char], vowels: &str) -> usize {
    let is = |c: &char| vowels.contains(*c);
    word.iter().enumerate().filter(|(i, c)| is(c) && !i.checked_sub(1).is_some_and(|before| is(&word[before]))).count()
}
