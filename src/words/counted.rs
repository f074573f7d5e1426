//! Texts that change with a number, by the language's own rules (Unicode CLDR): one round, two rounds.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::sync::Arc;

use fixed_decimal::Decimal;
use icu_locale_core::Locale;
use icu_plurals::{PluralCategory, PluralRules};

use crate::diag::Rule;
use crate::fields::Fields;
use crate::template::Template;

/// Every way of counting, with its key in files.
const CATEGORIES: [(&str, PluralCategory); 6] = [
    ("zero", PluralCategory::Zero),
    ("one", PluralCategory::One),
    ("two", PluralCategory::Two),
    ("few", PluralCategory::Few),
    ("many", PluralCategory::Many),
    ("other", PluralCategory::Other),
];
/// The largest number that a sheet counts to.
const LARGEST: u32 = 999;

/// How a language counts.
#[derive(Clone)]
pub struct Counting {
    rules: Arc<PluralRules>,
}

impl fmt::Debug for Counting {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("Counting").field(&self.used()).finish()
    }
}

impl Counting {
    /// The rules of a language such as `es`; one that Unicode does not know counts in one way only.
    pub fn of(language: &str) -> Self {
        let locale = Locale::try_from_str(language).unwrap_or(Locale::UNKNOWN);
        let rules = PluralRules::try_new_cardinal(locale.into()).expect("the rules of all languages are built in");
        Self { rules: Arc::new(rules) }
    }

    fn category(&self, number: &str) -> PluralCategory {
        Decimal::try_from_str(number).map_or(PluralCategory::Other, |number| self.rules.category_for(&number))
    }

    /// The ways that numbers on a sheet need, in the order of files.
    fn used(&self) -> Vec<(&'static str, PluralCategory)> {
        let used: BTreeSet<PluralCategory> =
            (0..=LARGEST).map(|number| self.rules.category_for(number)).chain([PluralCategory::Other]).collect();
        CATEGORIES.into_iter().filter(|(_, category)| used.contains(category)).collect()
    }
}

/// One text in each way in which its language counts.
#[derive(Clone, Debug)]
pub struct Counted {
    counting: Counting,
    forms: BTreeMap<PluralCategory, Template>,
}

impl Counted {
    /// Reads a table with a text for each way of counting, no more and no fewer.
    pub fn read(fields: &Fields<'_>, key: &str, counting: &Counting, limit: usize) -> Option<Self> {
        let value = fields.need(key)?;
        let table = value.table()?;
        let used = counting.used();
        let forms: BTreeMap<PluralCategory, Template> = used
            .iter()
            .filter_map(|(name, category)| {
                let text = table.need(name).and_then(|value| value.text(limit))?;
                Some((*category, Template::new(text.value)))
            })
            .collect();
        table.done();
        let most = forms.get(&PluralCategory::Other).map(Template::gaps).unwrap_or_default();
        if forms.values().any(|form| !form.gaps().is_subset(&most)) {
            let message = format!("a text of `{key}` names something that the text for `other` does not");
            return value.refuse(Rule::BadTemplate, message, "use the gaps of the text for `other`");
        }
        (forms.len() == used.len()).then(|| Self { counting: counting.clone(), forms })
    }

    /// The text for a whole number.
    pub fn of(&self, number: u32) -> &Template {
        self.of_written(&number.to_string())
    }

    /// The text for a number as written with a point, such as `1.5`.
    pub fn of_written(&self, number: &str) -> &Template {
        let category = self.counting.category(number);
        self.forms
            .get(&category)
            .or_else(|| self.forms.get(&PluralCategory::Other))
            .expect("`read` makes sure that there is a text for other numbers")
    }

    /// Every text.
    pub fn forms(&self) -> impl Iterator<Item = &Template> {
        self.forms.values()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ways(language: &str) -> Vec<&'static str> {
        Counting::of(language).used().into_iter().map(|(name, _)| name).collect()
    }

    #[test]
    fn languages_count_as_unicode_says() {
        // CLDR plural rules, cardinal.
        assert_eq!(ways("en"), ["one", "other"]);
        // The Spanish `many` starts at a million.
        assert_eq!(ways("es"), ["one", "other"]);
        assert_eq!(ways("pl"), ["one", "few", "many", "other"]);
        assert_eq!(ways("ja"), ["other"]);
        assert_eq!(ways("ar"), ["zero", "one", "two", "few", "many", "other"]);
    }

    #[test]
    fn a_part_of_one_is_not_one() {
        let english = Counting::of("en");
        assert_eq!(english.category("1"), PluralCategory::One);
        assert_eq!(english.category("1.5"), PluralCategory::Other);
        assert_eq!(Counting::of("fr").category("1.5"), PluralCategory::One);
        assert_eq!(Counting::of("pl").category("3"), PluralCategory::Few);
    }
}
