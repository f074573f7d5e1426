//! Figures: poses given as joint angles become flat vector pictures of a person.
//!
//! `pose -> angles -> bones -> contacts -> reaches -> blobs -> silhouettes -> depth order -> gaps -> SVG`.
//! No step needs a font, a raster image, a clock or chance, so the same pose gives the same bytes.
//! Everything is in percent of the person's stature; x is the way the person faces, y the person's left, z up.

mod alt;
mod camera;
mod canvas;
mod contact;
mod face;
mod facts;
mod flesh;
mod gaps;
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
mod reach;
mod read;
mod read_picture;
mod read_prop;
mod region;
mod silhouette;
mod sites;
mod skeleton;
mod solve;
mod style;
mod vector;

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

use crate::body::Side;
use crate::brand::Colour;
use crate::ids::ExerciseId;
use crate::print::Ink;

use library::PoseLibrary;
use picture::Picture;
use style::{Look, Palette, Rgb, Style};

pub use pose::PoseProblem;

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
    /// What a careful eye would doubt: joints past their range, limbs through the floor, no balance, frames too alike.
    pub fn doubts(&self) -> Vec<String> {
        let frames = solve::solve(&self.picture, None);
        let own = frames
            .iter()
            .zip(1..)
            .flat_map(|(frame, number)| frame.lints().into_iter().map(move |lint| format!("picture {number}: {lint}")));
        own.chain(lint::alike(&frames).into_iter().map(|lint| lint.to_string())).collect()
    }
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
}

type Key = (ExerciseId, Option<Side>, Ink);

/// Draws each distinct picture once in a run, in the brand's colours.
#[derive(Debug)]
pub struct Studio {
    pictures: BTreeMap<ExerciseId, Pictures>,
    palette: Palette,
    drawn: Mutex<BTreeMap<Key, Arc<Vec<Figure>>>>,
}

impl Studio {
    /// A studio for the given pictures. Clothes and arrows take the brand's accent.
    pub fn new(pictures: BTreeMap<ExerciseId, Pictures>, accent: Colour) -> Self {
        let brand = Rgb(accent.channels);
        let arrows = Palette::default().get("accent");
        Self { pictures, palette: Palette::with_brand(brand, arrows), drawn: Mutex::default() }
    }

    /// What a careful eye would doubt in any picture, with its exercise. Slow: for checking, not for printing.
    pub fn doubts(&self) -> Vec<(ExerciseId, String)> {
        let of = |(id, pictures): (&ExerciseId, &Pictures)| {
            let id = id.clone();
            pictures.doubts().into_iter().map(move |doubt| (id.clone(), doubt)).collect::<Vec<_>>()
        };
        self.pictures.iter().flat_map(of).collect()
    }

    /// Draws several pictures at once, for those who will ask for them next.
    pub fn prepare(&self, wanted: &[(&ExerciseId, Option<Side>)], ink: Ink) {
        let missing: Vec<_> = {
            let drawn = self.lock();
            wanted.iter().filter(|(exercise, side)| !drawn.contains_key(&((*exercise).clone(), *side, ink))).collect()
        };
        if missing.len() > 1 {
            std::thread::scope(|scope| {
                for (exercise, side) in missing {
                    scope.spawn(move || self.figures(exercise, *side, ink));
                }
            });
        }
    }

    /// The pictures of an exercise on a side, in order; none if it has none. One made before is handed out again.
    pub fn figures(&self, exercise: &ExerciseId, side: Option<Side>, ink: Ink) -> Option<Arc<Vec<Figure>>> {
        let pictures = self.pictures.get(exercise)?;
        let key = (exercise.clone(), side, ink);
        if let Some(done) = self.lock().get(&key) {
            return Some(Arc::clone(done));
        }
        // Drawn outside the lock: at worst two threads draw the same picture, and both drawings are the same.
        let frames = solve::solve(&pictures.picture, side);
        let look = match ink {
            Ink::Colour => Look::Color,
            Ink::Grey => Look::Grey,
            Ink::Saver => Look::Line,
        };
        let style = Style::new(look, self.palette.clone());
        let drawings = paint::draw_all(&frames, &style);
        let words = alt::alt_texts(&frames);
        let figures = frames
            .iter()
            .zip(drawings)
            .zip(words)
            .map(|((frame, svg), alt)| Figure {
                caption: frame.caption.clone(),
                ratio: svg.height / svg.width,
                svg: svg.text,
                alt,
            })
            .collect();
        let figures = Arc::new(figures);
        Some(Arc::clone(self.lock().entry(key).or_insert(figures)))
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, BTreeMap<Key, Arc<Vec<Figure>>>> {
        self.drawn.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests;
