//! A PDF file as its numbered objects, to be changed and written again under the same numbers.

use std::collections::{BTreeMap, BTreeSet};

use hayro_syntax::Pdf;
use hayro_syntax::object::{Array, Dict, FromBytes, MaybeRef, Object, ObjectIdentifier};
use hayro_syntax::page::Page;
use pdf_writer::{Name, Null, Obj, Ref, Settings, Str};

/// How files are written: without blanks for human readers.
pub(super) const COMPACT: Settings = Settings { pretty: false };

/// The entries of a dictionary, in the order of their names.
pub(super) type Fields = BTreeMap<Vec<u8>, Value>;

/// An object of a PDF.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Value {
    /// Nothing.
    Null,
    /// True or false.
    Bool(bool),
    /// A number.
    Number(f64),
    /// A string.
    Text(Vec<u8>),
    /// A name, without its stroke.
    Name(Vec<u8>),
    /// A numbered object.
    Ref(i32),
    /// A list.
    List(Vec<Value>),
    /// A dictionary.
    Fields(Fields),
}

impl Value {
    pub(super) fn name(name: &str) -> Self {
        Self::Name(name.into())
    }

    pub(super) fn fields<const N: usize>(fields: [(&str, Self); N]) -> Self {
        Self::Fields(fields.into_iter().map(|(key, value)| (key.into(), value)).collect())
    }

    pub(super) fn get(&self, key: &str) -> Option<&Self> {
        if let Self::Fields(fields) = self { fields.get(key.as_bytes()) } else { None }
    }

    pub(super) fn is(&self, key: &str, name: &str) -> bool {
        matches!(self.get(key), Some(Self::Name(found)) if found == name.as_bytes())
    }

    /// The number of the object that it names.
    pub(super) fn to(&self) -> Option<i32> {
        if let Self::Ref(to) = self { Some(*to) } else { None }
    }

    /// The parts of a list; of anything else, itself.
    pub(super) fn parts(&self) -> &[Self] {
        if let Self::List(parts) = self { parts } else { std::slice::from_ref(self) }
    }

    /// The entries of a dictionary, to be changed.
    pub(super) fn entries(&mut self) -> Option<&mut Fields> {
        if let Self::Fields(fields) = self { Some(fields) } else { None }
    }

    /// Adds the numbers of all objects that it names.
    fn names(&self, numbers: &mut Vec<i32>) {
        match self {
            Self::Ref(to) => numbers.push(*to),
            Self::List(items) => items.iter().for_each(|item| item.names(numbers)),
            Self::Fields(fields) => fields.values().for_each(|value| value.names(numbers)),
            Self::Null | Self::Bool(_) | Self::Number(_) | Self::Text(_) | Self::Name(_) => {}
        }
    }

    fn of(object: &Object<'_>) -> Self {
        match object {
            // Streams are only ever numbered objects.
            Object::Null(_) | Object::Stream(_) => Self::Null,
            Object::Boolean(value) => Self::Bool(*value),
            Object::Number(value) => Self::Number(value.as_f64()),
            Object::String(text) => Self::Text(text.as_bytes().to_vec()),
            Object::Name(name) => Self::Name(name.to_vec()),
            Object::Dict(dict) => Self::Fields(fields(dict)),
            Object::Array(list) => Self::List(list.raw_iter().map(|item| Self::of_item(&item)).collect()),
        }
    }

    fn of_item(item: &MaybeRef<Object<'_>>) -> Self {
        match item {
            MaybeRef::Ref(to) => Self::Ref(to.obj_number),
            MaybeRef::NotRef(object) => Self::of(object),
        }
    }

    pub(super) fn write(&self, obj: Obj<'_>) {
        match self {
            Self::Null => obj.primitive(Null),
            Self::Bool(value) => obj.primitive(*value),
            Self::Number(value) if value.fract() == 0.0 && value.abs() < f64::from(i32::MAX) => {
                obj.primitive(*value as i32);
            }
            Self::Number(value) => obj.primitive(*value as f32),
            Self::Text(text) => obj.primitive(Str(text)),
            Self::Name(name) => obj.primitive(Name(name)),
            Self::Ref(to) => obj.primitive(Ref::new(*to)),
            Self::List(items) => {
                let mut list = obj.array();
                items.iter().for_each(|item| item.write(list.push()));
            }
            Self::Fields(fields) => {
                let mut dict = obj.dict();
                fields.iter().for_each(|(key, value)| value.write(dict.insert(Name(key))));
            }
        }
    }
}

fn fields(dict: &Dict<'_>) -> Fields {
    dict.entries().map(|(key, value)| (key.to_vec(), Value::of_item(&value))).collect()
}

/// A numbered object: a value, or a dictionary with the bytes of its stream as they are packed.
#[derive(Clone, Debug)]
pub(super) struct Thing {
    pub(super) value: Value,
    pub(super) stream: Option<Vec<u8>>,
}

/// One step of drawing: its operator, and what that is given.
pub(super) type Step = (Vec<u8>, Vec<Value>);

/// A whole file.
pub(super) struct File {
    pub(super) things: BTreeMap<i32, Thing>,
    pub(super) catalog: i32,
    /// The objects of its pages in their order, and how each is drawn.
    pub(super) pages: Vec<(i32, Vec<Step>)>,
    next: i32,
    info: Option<i32>,
    ids: Option<(Vec<u8>, Vec<u8>)>,
}

fn steps(page: &Page<'_>) -> Vec<Step> {
    let mut steps = Vec::new();
    let mut all = page.operations();
    while let Some(step) = all.next() {
        steps.push((step.operator.to_vec(), step.operands().map(Value::of).collect()));
    }
    steps
}

impl File {
    /// Reads a file with a plain table of its objects, as the typesetter writes it.
    pub(super) fn read(bytes: &[u8]) -> Option<Self> {
        let pdf = Pdf::new(bytes.to_vec()).ok()?;
        let end = bytes.windows(7).rposition(|window| window == b"trailer")?;
        let trailer: Dict<'_> = Dict::from_bytes(bytes.get(end + 7..)?.trim_ascii_start())?;
        let mut things = BTreeMap::new();
        let next = trailer.get::<i32>("Size")?;
        for number in 1..next {
            let id = ObjectIdentifier::new(number, 0);
            let Some(object) = pdf.xref().get::<Object<'_>>(id) else { continue };
            let thing = match object {
                Object::Stream(stream) => {
                    Thing { value: Value::Fields(fields(stream.dict())), stream: Some(stream.raw_data().into_owned()) }
                }
                object => Thing { value: Value::of(&object), stream: None },
            };
            things.insert(number, thing);
        }
        let pages: Option<_> =
            pdf.pages().iter().map(|page| Some((page.raw().obj_id()?.obj_number, steps(page)))).collect();
        let ids = trailer.get::<Array<'_>>("ID").and_then(|ids| {
            let mut ids = ids.iter::<hayro_syntax::object::String<'_>>().map(|id| id.as_bytes().to_vec());
            Some((ids.next()?, ids.next()?))
        });
        let info = trailer.get_ref("Info").map(|to| to.obj_number);
        Some(Self { things, catalog: trailer.get_ref("Root")?.obj_number, pages: pages?, next, info, ids })
    }

    /// What a value is: itself, or the object that it names.
    pub(super) fn at<'v>(&'v self, value: &'v Value) -> Option<&'v Value> {
        match value {
            Value::Ref(to) => Some(&self.things.get(to)?.value),
            here => Some(here),
        }
    }

    /// Enters an object under a number that was never used, and gives the number.
    pub(super) fn add(&mut self, value: Value, stream: Option<Vec<u8>>) -> i32 {
        let number = self.next;
        self.next += 1;
        self.things.insert(number, Thing { value, stream });
        number
    }

    /// Drops every object that nothing names any more.
    fn sweep(&mut self) {
        let mut named = BTreeSet::new();
        let mut waiting: Vec<i32> = [self.catalog].into_iter().chain(self.info).collect();
        while let Some(number) = waiting.pop() {
            if let (true, Some(thing)) = (named.insert(number), self.things.get(&number)) {
                thing.value.names(&mut waiting);
            }
        }
        self.things.retain(|number, _| named.contains(number));
    }

    /// The bytes of the file.
    pub(super) fn write(mut self) -> Vec<u8> {
        self.sweep();
        let mut pdf = pdf_writer::Pdf::with_settings(COMPACT);
        for (number, thing) in &self.things {
            let id = Ref::new(*number);
            let Value::Fields(fields) = &thing.value else {
                thing.value.write(pdf.indirect(id));
                continue;
            };
            // What the writer of that kind of object enters by itself.
            let known: &[u8] = match &thing.stream {
                Some(_) => b"Length",
                None if *number == self.catalog => b"Type",
                None => b"",
            };
            let fill = |dict: &mut pdf_writer::Dict<'_>| {
                for (key, value) in fields.iter().filter(|(key, _)| key.as_slice() != known) {
                    value.write(dict.insert(Name(key)));
                }
            };
            match &thing.stream {
                Some(bytes) => fill(&mut pdf.stream(id, bytes)),
                None if *number == self.catalog => fill(&mut pdf.catalog(id)),
                None if Some(*number) == self.info => fill(&mut pdf.document_info(id)),
                None => fill(&mut pdf.indirect(id).dict()),
            }
        }
        if let Some(ids) = &self.ids {
            pdf.set_file_id(ids.clone());
        }
        pdf.finish()
    }
}
