//! What the readers ask of a kind of file, noted while they read: keys, types, limits and what must be there.
//!
//! The schemas for editors are made from it, so that they say what the readers do and cannot drift from them.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

/// One value that a reader takes.
#[derive(Clone, Debug, PartialEq)]
pub enum Kind {
    /// A text of at most so many characters.
    Text(usize),
    /// One of these words.
    OneOf(Vec<String>),
    /// The name of such a thing: `exercise`, `test`.
    Name(&'static str),
    /// A whole number between two others.
    Whole(u32, u32),
    /// A number between two others.
    Number(f64, f64),
    /// A number, or a text that holds a number with its unit.
    Quantity,
    /// `true` or `false`.
    Yes,
    /// A date.
    Date,
    /// A date, with or without a time.
    DateTime,
}

/// What is asked at one place of a kind of file.
#[derive(Debug, Default)]
pub struct Node {
    /// Values that it may be.
    pub kinds: Vec<Kind>,
    /// As a list: what its items are.
    pub items: Option<Shape>,
    /// As a table: its keys, in the order in which files have them.
    pub keys: Vec<(String, Key)>,
    /// As a table whose keys are names: what its values are.
    pub named: Option<Shape>,
    /// How many tables were read here.
    pub tables: usize,
    /// What the comment beside it says in an example.
    pub about: Option<String>,
}

/// One key of a table.
#[derive(Debug, Default)]
pub struct Key {
    /// What its value is.
    pub shape: Shape,
    /// When a reader first asked for it, among the keys of its table; if never, it is one of the practice's own names.
    pub asked: Option<usize>,
    /// Whether a file has shown where it stands among the others.
    pub placed: bool,
    /// How often a reader could not do without it.
    pub needed: usize,
}

/// A node that a reader can add to while it reads.
#[derive(Clone, Debug, Default)]
pub struct Shape(Rc<RefCell<Node>>);

impl Shape {
    /// Hands the node to `look`.
    pub fn with<T>(&self, look: impl FnOnce(&Node) -> T) -> T {
        look(&self.0.borrow())
    }

    /// Notes that a value of this kind is taken; limits of one kind widen to the widest.
    pub fn takes(&self, kind: Kind) {
        let mut node = self.0.borrow_mut();
        for known in &mut node.kinds {
            match (known, &kind) {
                (Kind::Text(limit), Kind::Text(other)) => return *limit = (*limit).max(*other),
                (Kind::Whole(least, most), Kind::Whole(a, b)) => {
                    (*least, *most) = ((*least).min(*a), (*most).max(*b));
                    return;
                }
                (Kind::Number(least, most), Kind::Number(a, b)) => {
                    (*least, *most) = (least.min(*a), most.max(*b));
                    return;
                }
                (Kind::OneOf(words), Kind::OneOf(more)) => {
                    for word in more {
                        if !words.contains(word) {
                            words.push(word.clone());
                        }
                    }
                    return;
                }
                (known, kind) if *known == *kind => return,
                _ => {}
            }
        }
        node.kinds.push(kind);
    }

    /// Notes that a list is taken, and gives the place of its items.
    pub fn items(&self) -> Self {
        self.0.borrow_mut().items.get_or_insert_default().clone()
    }

    /// Notes that a table is taken, whose keys stand in this order.
    pub fn table<'a>(&self, keys: impl Iterator<Item = &'a str>) {
        let mut node = self.0.borrow_mut();
        node.tables += 1;
        let keys: Vec<&str> = keys.collect();
        let mut at = 0;
        for (index, key) in keys.iter().enumerate() {
            let found = node.keys.iter().position(|(known, _)| known == key);
            if let Some(found) = found.filter(|found| node.keys[*found].1.placed) {
                at = found + 1;
                continue;
            }
            // One that was asked for in vain so far stands at the end.
            let mut entry = match found {
                Some(found) => node.keys.remove(found),
                None => ((*key).to_owned(), Key::default()),
            };
            entry.1.placed = true;
            // Of what no file shows the order, the reader's order holds.
            let before = |(other, found): &(String, Key)| {
                found.placed
                    && found.asked.is_some()
                    && found.asked < entry.1.asked
                    && !keys[index..].contains(&other.as_str())
            };
            at = at.min(node.keys.len());
            at += node.keys[at..].iter().take_while(|other| before(other)).count();
            node.keys.insert(at, entry);
            at += 1;
        }
    }

    /// Notes that a key was asked for, and gives the place of its value.
    pub fn key(&self, key: &str, needed: bool) -> Self {
        let mut node = self.0.borrow_mut();
        let index = match node.keys.iter().position(|(known, _)| known == key) {
            Some(index) => index,
            None => {
                node.keys.push((key.to_owned(), Key::default()));
                node.keys.len() - 1
            }
        };
        let order = node.keys.iter().filter(|(_, key)| key.asked.is_some()).count();
        let found = &mut node.keys[index].1;
        found.asked.get_or_insert(order);
        found.needed += usize::from(needed);
        found.shape.clone()
    }

    /// Notes that keys of this table are the practice's own names, and gives the place of their values.
    pub fn named(&self) -> Self {
        self.0.borrow_mut().named.get_or_insert_default().clone()
    }

    /// The place of a key in the usual order, if it is a key that readers ask for.
    pub fn rank(&self, key: &str) -> Option<usize> {
        self.0.borrow().keys.iter().position(|(known, found)| known == key && found.asked.is_some())
    }

    /// What is under a key, whether readers ask for it or it is one of the practice's own names.
    pub fn inner(&self, key: &str) -> Option<Self> {
        let node = self.0.borrow();
        let known = node.keys.iter().find(|(known, found)| known == key && found.asked.is_some());
        known.map(|(_, found)| found.shape.clone()).or_else(|| node.named.clone())
    }

    /// Notes what a comment says about it, if nothing is known yet.
    pub fn about(&self, text: &str) {
        self.0.borrow_mut().about.get_or_insert_with(|| text.to_owned());
    }

    /// Paths of everything that was asked for and of which no file read so far has an example.
    pub fn without_example(&self, path: &str) -> Vec<String> {
        let node = self.0.borrow();
        let mut missing = Vec::new();
        if node.kinds.is_empty() && node.items.is_none() && node.tables == 0 {
            missing.push(path.to_owned());
        }
        for (key, inner) in node.keys.iter().filter(|(_, key)| key.asked.is_some()) {
            missing.extend(inner.shape.without_example(&format!("{path}.{key}")));
        }
        for (inner, mark) in [(&node.items, "[]"), (&node.named, ".*")] {
            if let Some(inner) = inner {
                missing.extend(inner.without_example(&format!("{path}{mark}")));
            }
        }
        missing
    }
}

/// Shapes by kind of file.
pub type Shapes = BTreeMap<&'static str, Shape>;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_stand_as_files_have_them() {
        let shape = Shape::default();
        shape.table(["name", "works"].into_iter());
        for key in ["name", "sided", "works"] {
            shape.key(key, key != "sided");
        }
        shape.table(["name", "sided", "works"].into_iter());
        let ranks = ["name", "sided", "works", "zebra"].map(|key| shape.rank(key));
        assert_eq!(ranks, [Some(0), Some(1), Some(2), None]);
        assert_eq!(shape.key("name", true).without_example("name"), ["name"]);
    }

    #[test]
    fn limits_widen_and_words_are_gathered() {
        let shape = Shape::default();
        for kind in [Kind::Text(5), Kind::Whole(2, 4), Kind::Text(9), Kind::Whole(1, 3), Kind::OneOf(vec!["a".into()])]
        {
            shape.takes(kind);
        }
        shape.takes(Kind::OneOf(vec!["a".into(), "b".into()]));
        let kinds = shape.with(|node| node.kinds.clone());
        assert_eq!(kinds, [Kind::Text(9), Kind::Whole(1, 4), Kind::OneOf(vec!["a".into(), "b".into()])]);
    }
}
