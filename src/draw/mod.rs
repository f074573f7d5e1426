//! Figures: poses given as joint angles become flat vector pictures of a person.
//!
//! `pose -> angles -> bones -> contacts -> reaches -> blobs -> silhouettes -> depth order -> gaps -> SVG`.
//! No step needs a font, a raster image, a clock or chance, so the same pose gives the same bytes.
//! Everything is in percent of the person's stature; x is the way the person faces, y the person's left, z up.

mod alt;
mod angle;
mod camera;
mod canvas;
mod contact;
mod face;
mod facts;
mod fingers;
mod flesh;
mod gaps;
mod hold;
mod library;
mod lint;
mod marks;
mod motion;
mod muscle;
mod order;
mod paint;
mod picture;
mod pose;
mod props;
mod qr;
mod reach;
mod read;
mod read_picture;
mod read_prop;
mod region;
mod schema;
mod silhouette;
mod sites;
mod skeleton;
mod solve;
mod style;
mod tags;
mod vector;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex};

use sha2::{Digest, Sha256};

use crate::body::Side;
use crate::brand::Colour;
use crate::ids::{ExerciseId, TestId};
use crate::print::{Anchor, Ink};
use crate::words::Words;

use alt::Teller;
use canvas::{Label, Svg};
use library::PoseLibrary;
use picture::Picture;
use style::{Look, Palette, Rgb, Style};

pub use canvas::Said;
pub use facts::Bearing;
pub use pose::PoseProblem;
pub use qr::qr;
pub use schema::{base_poses, pictures};
pub use tags::{DeclaredByPose, Demands, EndRange, Lying, Peak};

/// The poses that pictures build on.
#[derive(Clone, Debug, Default)]
pub struct Poses {
    library: PoseLibrary,
}

impl Poses {
    /// Reads the file of base poses.
    ///
    /// # Errors
    /// Everything that is wrong in the file, each with its bytes.
    pub fn parse(text: &str) -> Result<Self, Vec<PoseProblem>> {
        PoseLibrary::parse(text).map(|library| Self { library })
    }

    /// Reads the pictures of one exercise.
    ///
    /// # Errors
    /// Everything that is wrong in the file, each with its bytes.
    pub fn pictures(&self, text: &str) -> Result<Pictures, Vec<PoseProblem>> {
        Picture::parse(text, &self.library).map(|picture| Pictures { picture })
    }
}

/// The pictures of one exercise, as their author posed them.
#[derive(Clone, Debug)]
pub struct Pictures {
    picture: Picture,
}

impl Pictures {
    /// The side that the poses are written for; none if it makes no difference.
    pub fn authored(&self) -> Option<Side> {
        self.picture.authored
    }

    /// Everything that is printed under or on a picture, and what the author says of poses: what a translation must have.
    pub fn texts(&self) -> Texts<BTreeSet<&str>> {
        let frames = || self.picture.frames.iter();
        let labels = self.labels().map(|(text, _)| text);
        Texts {
            captions: frames().filter_map(|frame| frame.caption.as_deref()).chain(labels).collect(),
            say: frames().filter_map(|frame| frame.pose.say.as_deref()).collect(),
        }
    }

    /// The signs of a test that frames show.
    pub fn signs(&self) -> impl Iterator<Item = &str> {
        self.picture.frames.iter().filter_map(|frame| frame.sign.as_deref())
    }

    /// The highest rung that a frame names, and whether each of `count` rungs has a frame.
    pub fn rungs(&self, count: usize) -> (usize, bool) {
        let frames = || self.picture.frames.iter();
        let highest = frames().flat_map(|frame| &frame.rungs).copied().max().unwrap_or(0);
        (highest, (1..=count).all(|rung| frames().any(|frame| frame.shows(rung))))
    }

    /// The texts with gaps that stand at marks, with their bytes in the pose file.
    pub fn labels(&self) -> impl Iterator<Item = (&str, std::ops::Range<usize>)> {
        let distances = self.picture.frames.iter().flat_map(|frame| &frame.marks.distances);
        distances.map(|it| (it.label.as_str(), it.at.clone()))
    }

    /// The rungs of each frame that is held (none for all), with its bytes in the pose file.
    pub fn held(&self) -> impl Iterator<Item = (&[usize], std::ops::Range<usize>)> {
        self.picture.frames.iter().filter(|it| it.marks.hold).map(|it| (it.rungs.as_slice(), it.at.clone()))
    }

    /// The most frames that any of `count` rungs shows.
    pub fn most_frames(&self, count: usize) -> usize {
        let shows = |rung: usize| self.picture.frames.iter().filter(move |it| it.shows(rung)).count();
        (1..=count).map(shows).max().unwrap_or(self.picture.frames.len())
    }

    /// What a careful eye would doubt: joints past their range, limbs through the floor, no balance, frames too alike.
    pub fn doubts(&self) -> Vec<Doubt> {
        let frames = solve::solve(&self.picture, None);
        let own = frames.iter().flat_map(solve::SolvedFrame::lints);
        own.chain(lint::alike(&frames)).map(|it| self.doubt(&it)).collect()
    }

    /// What the poses that show each of `count` rungs ask of the body, on the side the author wrote, and what no body can
    /// do in any frame. Each pose is solved once for both.
    pub fn survey(&self, count: usize) -> (Vec<Demands>, Vec<Doubt>) {
        let frames = solve::solve(&self.picture, None);
        let impossible = frames.iter().flat_map(lint::impossible).map(|it| self.doubt(&it)).collect();
        (demands(frames, count), impossible)
    }

    /// What would not read on a card of 45 mm in this ink: lines too thin, marks too small. Slow: it draws everything.
    pub fn hard_to_read(&self, ink: Ink) -> Vec<Doubt> {
        let style = Style::new(look_of(ink), Palette::default());
        let drawn = paint::draw_all(&solve::solve(&self.picture, None), &style);
        let doubts = drawn.iter().zip(1..).flat_map(|(svg, number)| lint::too_fine(number, svg));
        doubts.map(|it| self.doubt(&it)).collect()
    }

    fn doubt(&self, lint: &lint::Lint) -> Doubt {
        let frame = self.picture.frames.get(lint.frame() - 1);
        let (text, about_joint) = (lint.to_string(), lint.is_about_joint());
        Doubt { at: frame.map_or(0..0, |it| it.at.clone()), text, impossible: lint.is_impossible(), about_joint }
    }
}

/// What the frames that show each of `count` rungs ask of the body. Frames that show how not to do it do not count.
fn demands(mut frames: Vec<solve::SolvedFrame>, count: usize) -> Vec<Demands> {
    frames.retain(|frame| frame.sign.is_none() && !frame.is_wrong());
    if frames.iter().all(|frame| frame.rungs.is_empty()) {
        return vec![tags::demands(&frames); count];
    }
    (1..=count).map(|rung| tags::demands(frames.iter().filter(|frame| frame.shows(rung)))).collect()
}

/// Something that a careful eye would doubt in a picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Doubt {
    /// The frame that it is about, in bytes of the pose file.
    pub at: std::ops::Range<usize>,
    /// What is doubtful.
    pub text: String,
    /// Whether no body can do it.
    pub impossible: bool,
    /// Whether it is about the angle of a joint.
    pub about_joint: bool,
}

/// What belongs to the captions of one thing's pictures, and to what their author says of the poses.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Texts<T> {
    /// Under or on the picture.
    pub captions: T,
    /// For those who cannot see it.
    pub say: T,
}

/// What an author wrote, with its translation.
pub type Translated = Texts<BTreeMap<String, String>>;

/// What a picture shows.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// An exercise of the library.
    Exercise(ExerciseId),
    /// A test of the library.
    Test(TestId),
}

impl Subject {
    /// Its pose file in a practice.
    pub fn path(&self) -> String {
        match self {
            Self::Exercise(id) => format!("exercises/poses/{id}.toml"),
            Self::Test(id) => format!("exercises/poses/tests/{id}.toml"),
        }
    }

    /// Its name in a file name.
    pub fn stem(&self) -> String {
        match self {
            Self::Exercise(id) => id.to_string(),
            Self::Test(id) => format!("test-{id}"),
        }
    }
}

/// Text that a layout sets over a picture: the drawing itself holds none.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureLabel {
    /// What it says.
    pub says: Said,
    /// Its place, as a share of the picture's width from the left, 0 to 1.
    pub x: f64,
    /// Its middle, as a share of the picture's height from the top, 0 to 1.
    pub y: f64,
    /// What of it stands at its place.
    pub anchor: Anchor,
}

/// One finished picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// The drawing; it holds no text.
    pub svg: String,
    /// What it shows, in words.
    pub alt: String,
    /// A few words for under it, without a side.
    pub caption: Option<String>,
    /// Height over width.
    pub ratio: f64,
    /// The sign of a test that it shows, if it shows how not to do it.
    pub sign: Option<String>,
    /// Whether it shows how not to do it.
    pub wrong: bool,
    /// The rungs that it shows, counted from 1; empty for all.
    pub rungs: Vec<usize>,
    /// Text to set over the drawing; a label outside a close-up is left out.
    pub labels: Vec<FigureLabel>,
}

fn look_of(ink: Ink) -> Look {
    match ink {
        Ink::Colour => Look::Color,
        Ink::Grey => Look::Grey,
        Ink::Saver => Look::Line,
    }
}

fn labels_of(svg: &Svg) -> Vec<FigureLabel> {
    let share = |it: &Label| FigureLabel {
        says: it.says.clone(),
        x: it.x / svg.width,
        y: it.y / svg.height,
        anchor: it.anchor,
    };
    let inside = |it: &FigureLabel| (0.0..=1.0).contains(&it.x) && (0.0..=1.0).contains(&it.y);
    svg.labels.iter().map(share).filter(inside).collect()
}

impl Figure {
    /// Whether it shows a rung, counted from 0.
    pub fn shows(&self, rung: usize) -> bool {
        self.rungs.is_empty() || self.rungs.contains(&(rung + 1))
    }
}

/// Which pictures of something.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Show {
    /// All.
    All,
    /// Those of one rung, counted from 0.
    Rung(usize),
    /// What it comes to: the last one that is no fault, without a sign of right or wrong.
    Outcome,
}

impl Show {
    fn of(self, mut frames: Vec<solve::SolvedFrame>) -> Vec<solve::SolvedFrame> {
        match self {
            Self::All => {}
            Self::Rung(rung) => frames.retain(|frame| frame.shows(rung + 1)),
            Self::Outcome => {
                frames.retain(|frame| !frame.is_wrong());
                frames.drain(..frames.len().saturating_sub(1));
                frames.iter_mut().for_each(|frame| frame.marks.verdict = None);
            }
        }
        frames
    }
}

/// What is drawn: of what, on which side, in which ink, and which of its pictures.
type Key = (Subject, Option<Side>, Ink, Show);

/// A picture that somebody will ask for: of what, on which side, and which.
pub type Wanted = (Subject, Option<Side>, Show);

/// Draws each distinct picture once in a run, in the brand's colours, with its words in one language.
#[derive(Debug)]
pub struct Studio {
    pictures: Arc<BTreeMap<Subject, Pictures>>,
    palette: Palette,
    drawn: Mutex<BTreeMap<Key, Arc<Vec<Figure>>>>,
    /// What was asked of [`Studio::fingerprint`].
    prints: Mutex<BTreeMap<(Subject, Show), String>>,
    words: Words,
    /// The studio whose drawings this one puts into another language, with the translated texts.
    original: Option<(Arc<Studio>, BTreeMap<Subject, Translated>)>,
}

impl Studio {
    /// A studio for the given pictures, whose authors wrote in the language of `words`. Clothes and arrows take the
    /// brand's accent.
    pub fn new(pictures: BTreeMap<Subject, Pictures>, accent: Colour, words: &Words) -> Self {
        let brand = Rgb(accent.channels);
        let arrows = Palette::default().get("accent");
        Self {
            pictures: Arc::new(pictures),
            palette: Palette::with_brand(brand, arrows),
            drawn: Mutex::default(),
            prints: Mutex::default(),
            words: words.clone(),
            original: None,
        }
    }

    /// The same drawings, with their words in another language.
    pub fn speaking(self: &Arc<Self>, words: &Words, translated: BTreeMap<Subject, Translated>) -> Self {
        Self {
            pictures: Arc::clone(&self.pictures),
            palette: self.palette.clone(),
            drawn: Mutex::default(),
            prints: Mutex::default(),
            words: words.clone(),
            original: Some((Arc::clone(self), translated)),
        }
    }

    /// Draws several pictures at once, for those who will ask for them next.
    pub fn prepare(&self, wanted: &[Wanted], ink: Ink) {
        let missing: Vec<_> = {
            let drawn = self.lock();
            let known = |(subject, side, show): &Wanted| drawn.contains_key(&(subject.clone(), *side, ink, *show));
            wanted.iter().filter(|it| !known(it)).collect()
        };
        if missing.len() > 1 {
            let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
            std::thread::scope(|scope| {
                for share in missing.chunks(missing.len().div_ceil(cores)) {
                    scope.spawn(move || {
                        for (subject, side, show) in share {
                            self.figures(subject, *side, ink, *show);
                        }
                    });
                }
            });
        }
    }

    /// Everything that has pictures, in order.
    pub fn subjects(&self) -> impl Iterator<Item = (&Subject, &Pictures)> {
        self.pictures.iter()
    }

    /// What tells whether the pictures of something still show the same: bodies, things, marks and view, whatever the
    /// ink. None if it has no pictures. Nothing is drawn for it.
    pub fn fingerprint(&self, subject: &Subject, show: Show) -> Option<String> {
        let pictures = self.pictures.get(subject)?;
        let known = || self.prints.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        let key = (subject.clone(), show);
        if let Some(print) = known().get(&key) {
            return Some(print.clone());
        }
        let mut hash = Sha256::new();
        for frame in show.of(solve::solve(&pictures.picture, None)) {
            hash.update(frame.described());
        }
        let print: String = hash.finalize().iter().take(8).map(|byte| format!("{byte:02x}")).collect();
        Some(known().entry(key).or_insert(print).clone())
    }

    /// The pictures of something on a side, in order; none if it has none. One made before is handed out again. Those
    /// of one rung are drawn to the height of the tallest of them, and nothing else is drawn.
    pub fn figures(&self, subject: &Subject, side: Option<Side>, ink: Ink, show: Show) -> Option<Arc<Vec<Figure>>> {
        let pictures = self.pictures.get(subject)?;
        let key = (subject.clone(), side, ink, show);
        if let Some(done) = self.lock().get(&key) {
            return Some(Arc::clone(done));
        }
        // Made outside the lock: at worst two threads draw the same picture, and both drawings are the same.
        let frames = show.of(solve::solve(&pictures.picture, side));
        let figures = match &self.original {
            None => self.draw(&frames, ink),
            Some((original, texts)) => {
                let drawn = original.figures(subject, side, ink, show)?;
                self.translate(original, &frames, &drawn, texts.get(subject))
            }
        };
        Some(Arc::clone(self.lock().entry(key).or_insert(Arc::new(figures))))
    }

    fn draw(&self, frames: &[solve::SolvedFrame], ink: Ink) -> Vec<Figure> {
        let style = Style::new(look_of(ink), self.palette.clone());
        let drawings = paint::draw_all(frames, &style);
        let words = Teller { words: &self.words, say: None }.alt_texts(frames);
        let figure = |((frame, svg), alt): ((&solve::SolvedFrame, Svg), String)| Figure {
            caption: frame.caption.clone(),
            ratio: svg.height / svg.width,
            labels: labels_of(&svg).into_iter().map(|label| self.on_side(label, frame)).collect(),
            svg: svg.text,
            alt,
            sign: frame.sign.clone(),
            wrong: frame.is_wrong(),
            rungs: frame.rungs.clone(),
        };
        frames.iter().zip(drawings).zip(words).map(figure).collect()
    }

    /// Words at a mark are written for the authored side, as `say` is.
    fn on_side(&self, label: FigureLabel, frame: &solve::SolvedFrame) -> FigureLabel {
        match label.says {
            Said::Words(text) if frame.flipped => {
                FigureLabel { says: Said::Words(self.words.mirrored(&text)), ..label }
            }
            _ => label,
        }
    }

    fn translate(
        &self,
        original: &Self,
        frames: &[solve::SolvedFrame],
        drawn: &[Figure],
        texts: Option<&Translated>,
    ) -> Vec<Figure> {
        let words = Teller { words: &self.words, say: texts.map(|texts| &texts.say) }.alt_texts(frames);
        let own = |text: &String| texts.and_then(|texts| texts.captions.get(text)).unwrap_or(text).clone();
        let label = |label: &FigureLabel, frame: &solve::SolvedFrame| {
            // Back to the authored side, for which the translation is written too.
            let written = original.on_side(label.clone(), frame);
            let says = match &written.says {
                Said::Words(text) => Said::Words(own(text)),
                Said::Seconds => Said::Seconds,
            };
            self.on_side(FigureLabel { says, ..written }, frame)
        };
        let figure = |((frame, figure), alt): ((&solve::SolvedFrame, &Figure), String)| Figure {
            alt,
            caption: figure.caption.as_ref().map(own),
            labels: figure.labels.iter().map(|it| label(it, frame)).collect(),
            ..figure.clone()
        };
        frames.iter().zip(drawn).zip(words).map(figure).collect()
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, BTreeMap<Key, Arc<Vec<Figure>>>> {
        self.drawn.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}

/// Whether a joint motion has this name in pose files, such as `shoulder.flexion`; a minus in front is its other way.
pub fn is_motion(name: &str) -> bool {
    motion::Motion::by_name(name.strip_prefix('-').unwrap_or(name)).is_some()
}

/// Joint motions of pose files, each with its range in degrees and what a plus means.
pub fn joint_motions() -> impl Iterator<Item = (String, String)> {
    motion::MOTIONS.iter().map(|(motion, name, sided, [least, most])| {
        let sides = if *sided { "left, right, both; " } else { "" };
        ((*name).to_owned(), format!("{sides}{least} to {most}; plus is {}", motion.plus()))
    })
}

/// What the words about pictures must name: things, places and muscles, each with whether it has a side.
pub fn named_things() -> [Vec<(&'static str, bool)>; 3] {
    let props = alt::TOLD_PROPS.iter().map(|kind| (kind.name(), false)).collect();
    [props, sites::site_names().collect(), muscle::Muscle::names().collect()]
}

/// A drawing as PNG, `width` pixels wide; none if it has no size.
pub fn png(svg: &str, width: u32) -> Option<Vec<u8>> {
    let tree = usvg::Tree::from_str(svg, &usvg::Options::default()).ok()?;
    let size = tree.size().scale_to_width(width as f32)?.to_int_size();
    let mut pixels = resvg::tiny_skia::Pixmap::new(size.width(), size.height())?;
    pixels.fill(resvg::tiny_skia::Color::WHITE);
    let scale = width as f32 / tree.size().width();
    resvg::render(&tree, resvg::tiny_skia::Transform::from_scale(scale, scale), &mut pixels.as_mut());
    let mut png = std::io::Cursor::new(Vec::new());
    // On a white ground every pixel is opaque, so premultiplied and plain colours are the same.
    image::write_buffer_with_format(
        &mut png,
        pixels.data(),
        size.width(),
        size.height(),
        image::ExtendedColorType::Rgba8,
        image::ImageFormat::Png,
    )
    .ok()?;
    Some(png.into_inner())
}

#[cfg(test)]
mod tests;
