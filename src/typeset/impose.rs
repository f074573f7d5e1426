//! Lays the pages of a booklet out two to a side, in the order in which the sheets are folded.
//!
//! The tags stay as they are, in the order of reading: only the numbers of their marks move on, since two pages now
//! count theirs together. Pages might be drawn as forms without a look into them, but many programs that read aloud
//! find no marks in forms.

mod file;
mod moves;

use std::collections::{BTreeMap, BTreeSet};

use file::{COMPACT, Fields, File, Step, Thing, Value};
use miniz_oxide::deflate::compress_to_vec_zlib;
use moves::{Moves, Place};
use pdf_writer::Content;

/// The pages of each side, left and right, as numbers from 1: front and back of the outermost sheet first. Sheets are
/// turned over their short edge. A place without a page stays blank.
pub(super) fn sides(pages: usize) -> Vec<[Option<usize>; 2]> {
    let places = pages.next_multiple_of(4);
    let page = |number: usize| (number <= pages).then_some(number);
    (1..=places / 2)
        .map(|low| {
            let high = places + 1 - low;
            // Odd pages stand on the right, wherever a book lies open.
            if low % 2 == 1 { [page(high), page(low)] } else { [page(low), page(high)] }
        })
        .collect()
}

/// A file whose pages stand two to a side, and the number of its sides. `None` if the file is not as the typesetter
/// writes it.
pub(super) fn impose(reading: &[u8]) -> Option<(Vec<u8>, usize)> {
    let mut file = File::read(reading)?;
    let pages = std::mem::take(&mut file.pages);
    let first = &file.things.get(&pages.first()?.0)?.value;
    let parent = first.get("Parent")?.to()?;
    let [.., Value::Number(width), Value::Number(height)] = first.get("MediaBox")?.parts() else { return None };
    let (width, height) = (*width, *height);
    let sides = sides(pages.len());
    let mut numbers: Vec<i32> = Vec::new();
    let mut moves = Moves::of_pages(&file, &pages);
    for two in &sides {
        let side = file.add(Value::Null, None);
        numbers.push(side);
        for (slot, number) in two.iter().enumerate() {
            let Some(number) = number else { continue };
            moves.places.insert(pages[number - 1].0, Place { side, across: width * slot as f64, marks: 0 });
        }
    }
    let mut marks = Marks::take(&mut file)?;
    for (two, object) in sides.iter().zip(&numbers) {
        // In the order of reading: what is drawn first is met first.
        let mut ours: Vec<usize> = two.iter().flatten().copied().collect();
        ours.sort_unstable();
        let mut side = Side::default();
        for number in ours {
            let (page, steps) = &pages[number - 1];
            let place = moves.places.get_mut(page)?;
            place.marks = side.marks.len();
            side.lay(&mut file, &mut marks, Page { object: *page, steps, number }, *place)?;
        }
        let key = marks.enter(std::mem::take(&mut side.marks));
        side.finish(&mut file, *object, parent, [2.0 * width, height], key);
    }
    for (number, thing) in &mut file.things {
        moves.apply(*number, &mut thing.value);
    }
    marks.put_back(&mut file)?;
    let labels: Vec<String> = sides.iter().map(label).collect();
    bind(&mut file, parent, &numbers, &labels, pages.len())?;
    Some((file.write(), sides.len()))
}

/// The name of a side for whoever pages through the file: “16, 1”.
fn label(two: &[Option<usize>; 2]) -> String {
    two.iter().flatten().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

/// Puts the sides in place of the pages, and tells the printer how to turn the sheets.
fn bind(file: &mut File, parent: i32, sides: &[i32], labels: &[String], pages: usize) -> Option<()> {
    let tree = file.things.get_mut(&parent)?.value.entries()?;
    tree.insert(b"Kids".to_vec(), Value::List(sides.iter().map(|side| Value::Ref(*side)).collect()));
    tree.insert(b"Count".to_vec(), Value::Number(sides.len() as f64));
    let labels = labels.iter().enumerate().flat_map(|(at, label)| {
        [Value::Number(at as f64), Value::fields([("P", Value::Text(label.clone().into_bytes()))])]
    });
    let labels = Value::fields([("Nums", Value::List(labels.collect()))]);
    let catalog = file.things.get_mut(&file.catalog)?.value.entries()?;
    catalog.insert(b"PageLabels".to_vec(), labels);
    let wishes = catalog.get_mut(&b"ViewerPreferences"[..])?.entries()?;
    wishes.insert(b"Duplex".to_vec(), Value::name("DuplexFlipShortEdge"));
    wishes.insert(b"PrintScaling".to_vec(), Value::name("None"));
    let metadata = catalog.get(&b"Metadata"[..])?.to()?;
    let metadata = file.things.get_mut(&metadata)?.stream.as_mut()?;
    let text = String::from_utf8(std::mem::take(metadata)).ok()?;
    let count = |pages: usize| format!("<xmpTPg:NPages>{pages}</xmpTPg:NPages>");
    *metadata = text.replace(&count(pages), &count(sides.len())).into_bytes();
    Some(())
}

/// Which tag each mark belongs to: for a page a list with a tag for each of its marks, for a note its tag.
struct Marks {
    by_key: BTreeMap<i32, Value>,
    next: i32,
}

impl Marks {
    fn root(file: &mut File) -> Option<&mut Fields> {
        let root = file.things.get(&file.catalog)?.value.get("StructTreeRoot")?.to()?;
        file.things.get_mut(&root)?.value.entries()
    }

    fn take(file: &mut File) -> Option<Self> {
        let root = Self::root(file)?;
        // Pages on which nothing is told have no such tree.
        let next = if let Some(Value::Number(next)) = root.get(&b"ParentTreeNextKey"[..]) { *next } else { 0.0 };
        let tree = root.get_mut(&b"ParentTree"[..]).and_then(Value::entries);
        let known = tree.and_then(|tree| tree.remove(&b"Nums"[..]));
        let known = known.as_ref().map_or(&[][..], Value::parts);
        let mut by_key = BTreeMap::new();
        for pair in known.chunks_exact(2) {
            let Value::Number(key) = pair[0] else { return None };
            by_key.insert(key as i32, pair[1].clone());
        }
        Some(Self { by_key, next: next as i32 })
    }

    /// The tags of a page's marks, which it gives up.
    fn of_page(&mut self, file: &File, page: &Fields) -> Option<Vec<Value>> {
        let Value::Number(key) = *page.get(&b"StructParents"[..])? else { return None };
        let tags = self.by_key.remove(&(key as i32))?;
        Some(file.at(&tags)?.parts().to_vec())
    }

    /// Enters the tags of a side's marks, and gives their key.
    fn enter(&mut self, tags: Vec<Value>) -> i32 {
        let key = self.next;
        self.by_key.insert(key, Value::List(tags));
        self.next += 1;
        key
    }

    fn put_back(self, file: &mut File) -> Option<()> {
        let root = Self::root(file)?;
        root.insert(b"ParentTreeNextKey".to_vec(), Value::Number(f64::from(self.next)));
        let pairs = self.by_key.into_iter().flat_map(|(key, tags)| [Value::Number(f64::from(key)), tags]);
        root.insert(b"ParentTree".to_vec(), Value::fields([("Nums", Value::List(pairs.collect()))]));
        Some(())
    }
}

/// A page of the booklet: its object, how it is drawn, and its number from 1.
struct Page<'a> {
    object: i32,
    steps: &'a [Step],
    number: usize,
}

impl Page<'_> {
    /// A name of its own for what it draws with.
    fn renamed(&self, name: &[u8]) -> Vec<u8> {
        [name, format!("p{}", self.number).as_bytes()].concat()
    }

    /// How it is drawn with its own names, its marks counted on from `marks`.
    fn drawn(&self, names: &BTreeSet<Vec<u8>>, marks: usize) -> Option<Vec<u8>> {
        let mut content = Content::with_settings(COMPACT);
        for (operator, given) in self.steps {
            // A picture within the content would have to be copied as it is; the typesetter makes none.
            if matches!(operator.as_slice(), b"BI" | b"ID" | b"EI") {
                return None;
            }
            let mut step = content.op(std::str::from_utf8(operator).ok()?);
            for (at, value) in given.iter().enumerate() {
                match (operator.as_slice(), at, value) {
                    (b"BDC", 1, Value::Fields(fields)) => {
                        let mut fields = fields.clone();
                        if let Some(Value::Number(mark)) = fields.get_mut(&b"MCID"[..]) {
                            *mark += marks as f64;
                        }
                        Value::Fields(fields).write(step.obj());
                    }
                    // The name of a mark is not one of a thing.
                    (b"BDC" | b"BMC", 0, _) => value.write(step.obj()),
                    (_, _, Value::Name(name)) if names.contains(name) => {
                        Value::Name(self.renamed(name)).write(step.obj());
                    }
                    _ => value.write(step.obj()),
                }
            }
        }
        Some(content.finish().into_vec())
    }
}

/// A side in the making.
#[derive(Default)]
struct Side {
    content: Vec<u8>,
    resources: BTreeMap<Vec<u8>, Fields>,
    notes: Vec<Value>,
    marks: Vec<Value>,
}

impl Side {
    /// Lays a page on the side. The page's own object goes.
    fn lay(&mut self, file: &mut File, marks: &mut Marks, page: Page<'_>, place: Place) -> Option<()> {
        let mut thing = file.things.remove(&page.object)?;
        let fields = thing.value.entries()?;
        if let Some(Value::List(notes)) = fields.remove(&b"Annots"[..]) {
            self.notes.extend(notes);
        }
        self.marks.extend(marks.of_page(file, fields).unwrap_or_default());
        let mut names = BTreeSet::new();
        let Value::Fields(kinds) = file.at(fields.get(&b"Resources"[..])?)?.clone() else { return None };
        for (kind, known) in &kinds {
            let Value::Fields(known) = file.at(known)?.clone() else { continue };
            let entered = self.resources.entry(kind.clone()).or_default();
            for (name, value) in &known {
                let value =
                    if kind.as_slice() == b"Pattern" { pattern(file, value, place.across)? } else { value.clone() };
                entered.insert(page.renamed(name), value);
                names.insert(name.clone());
            }
        }
        self.content.extend(format!("q\n1 0 0 1 {} 0 cm\n", place.across as f32).bytes());
        self.content.extend(page.drawn(&names, place.marks)?);
        self.content.extend(b"\nQ\n");
        Some(())
    }

    /// Enters the side as a page.
    fn finish(self, file: &mut File, object: i32, parent: i32, size: [f64; 2], key: i32) {
        let filter = Value::fields([("Filter", Value::name("FlateDecode"))]);
        let content = file.add(filter, Some(compress_to_vec_zlib(&self.content, 6)));
        let resources = self.resources.into_iter().map(|(kind, names)| (kind, Value::Fields(names))).collect();
        let mut value = Value::fields([
            ("Type", Value::name("Page")),
            ("Parent", Value::Ref(parent)),
            ("MediaBox", Value::List([0.0, 0.0, size[0], size[1]].map(Value::Number).to_vec())),
            ("Resources", Value::Fields(resources)),
            ("Contents", Value::Ref(content)),
            ("Tabs", Value::name("S")),
            ("StructParents", Value::Number(f64::from(key))),
        ]);
        if let (false, Value::Fields(fields)) = (self.notes.is_empty(), &mut value) {
            fields.insert(b"Annots".to_vec(), Value::List(self.notes));
        }
        file.things.insert(object, Thing { value, stream: None });
    }
}

/// A pattern for a page that has moved: patterns keep to the paper, not to what is drawn with them.
fn pattern(file: &mut File, value: &Value, across: f64) -> Option<Value> {
    if across == 0.0 {
        return Some(value.clone());
    }
    let mut copy = file.things.get(&value.to()?)?.clone();
    let fields = copy.value.entries()?;
    let still = [1.0, 0.0, 0.0, 1.0, 0.0, 0.0].map(Value::Number).to_vec();
    let matrix = fields.entry(b"Matrix".to_vec()).or_insert(Value::List(still));
    if let Value::List(matrix) = matrix
        && let Some(Value::Number(x)) = matrix.get_mut(4)
    {
        *x += across;
    }
    Some(Value::Ref(file.add(copy.value, copy.stream)))
}
