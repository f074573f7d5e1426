//! A practice's own photos: turned upright, cropped, and made as small as paper needs, so that a sheet stays light and
//! nothing but the pixels travels with it.

use std::io::Cursor;

use image::imageops::FilterType;
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader};

use super::picture::Fault;

/// Most pixels that a photo may have before it is decoded.
const MOST_PIXELS: u64 = 40_000_000;
/// Least width or height of a photo, in pixels: 40 mm at 150 to the inch.
const LEAST_SIDE: u32 = 236;
/// Most width and height of a photo on paper: 136 by 68 mm, a card's whole row, at 300 to the inch.
const PRINTED: (u32, u32) = (1606, 803);
/// Quality of a JPEG that is written anew, 1 to 100.
const QUALITY: u8 = 90;

/// The part of a photo to print: left, top, width and height in percent of the photo.
pub type Crop = [u32; 4];

const AGAIN: &str = "save it again as PNG or JPEG";

/// The photo as it will be printed, in the format that it came in.
pub fn prepare(bytes: &[u8], crop: Option<Crop>) -> Result<Vec<u8>, Fault> {
    let unreadable = |error: &dyn std::fmt::Display| (format!("this picture cannot be read: {error}"), AGAIN);
    let reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format().map_err(|error| unreadable(&error))?;
    let Some(format) = reader.format() else {
        return Err(("this is neither a PNG nor a JPEG picture".to_owned(), AGAIN));
    };
    let mut decoder = reader.into_decoder().map_err(|error| unreadable(&error))?;
    let (width, height) = decoder.dimensions();
    if u64::from(width) * u64::from(height) > MOST_PIXELS {
        let message = format!("this picture has {width} by {height} pixels, which is more than paper can use");
        return Err((message, "make it at most 3000 pixels wide"));
    }
    // Cameras write down how they were held instead of turning the picture.
    let held = decoder.orientation().map_err(|error| unreadable(&error))?;
    let damaged = |error: &dyn std::fmt::Display| (format!("this picture is damaged: {error}"), AGAIN);
    let mut photo = DynamicImage::from_decoder(decoder).map_err(|error| damaged(&error))?;
    photo.apply_orientation(held);
    if let Some([left, top, width, height]) = crop {
        let share = |whole: u32, percent: u32| (u64::from(whole) * u64::from(percent) / 100) as u32;
        let (w, h) = (photo.width(), photo.height());
        photo = photo.crop_imm(share(w, left), share(h, top), share(w, width), share(h, height));
    }
    let (width, height) = (photo.width(), photo.height());
    if width.min(height) < LEAST_SIDE {
        let message = format!("this picture has only {width} by {height} pixels and would print blurred");
        return Err((message, "use at least 236 pixels each way"));
    }
    if width > PRINTED.0 || height > PRINTED.1 {
        // A filter of plain arithmetic: others need functions whose last bit differs between machines.
        photo = photo.resize(PRINTED.0, PRINTED.1, FilterType::CatmullRom);
    }
    write(&photo, format).map_err(|error| damaged(&error))
}

fn write(photo: &DynamicImage, format: ImageFormat) -> image::ImageResult<Vec<u8>> {
    let mut bytes = Cursor::new(Vec::new());
    if format == ImageFormat::Jpeg {
        let encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, QUALITY);
        photo.to_rgb8().write_with_encoder(encoder)?;
    } else if photo.color().has_alpha() {
        photo.to_rgba8().write_to(&mut bytes, ImageFormat::Png)?;
    } else {
        photo.to_rgb8().write_to(&mut bytes, ImageFormat::Png)?;
    }
    Ok(bytes.into_inner())
}

#[cfg(test)]
mod tests {
    use image::{GenericImageView, Rgb, RgbImage};

    use super::*;

    /// A photo whose left half is red and whose right half is green.
    fn photo(width: u32, height: u32, format: ImageFormat) -> Vec<u8> {
        let half = |x: u32, _| if x < width / 2 { Rgb([200, 0, 0]) } else { Rgb([0, 200, 0]) };
        let mut bytes = Cursor::new(Vec::new());
        RgbImage::from_fn(width, height, half).write_to(&mut bytes, format).unwrap();
        bytes.into_inner()
    }

    #[test]
    fn a_photo_is_made_as_small_as_paper_needs() {
        for format in [ImageFormat::Png, ImageFormat::Jpeg] {
            let small = prepare(&photo(4000, 1000, format), None).unwrap();
            assert_eq!(image::guess_format(&small).unwrap(), format);
            // 136 mm at 300 to the inch.
            assert_eq!(image::load_from_memory(&small).unwrap().dimensions(), (1606, 402));
            assert_eq!(small, prepare(&photo(4000, 1000, format), None).unwrap());
            let tall = prepare(&photo(900, 1606, format), None).unwrap();
            assert_eq!(image::load_from_memory(&tall).unwrap().dimensions(), (450, 803));
            let kept = prepare(&photo(400, 300, format), None).unwrap();
            assert_eq!(image::load_from_memory(&kept).unwrap().dimensions(), (400, 300));
        }
    }

    #[test]
    fn a_crop_keeps_its_part() {
        let right = prepare(&photo(1000, 400, ImageFormat::Png), Some([60, 0, 40, 100])).unwrap();
        let right = image::load_from_memory(&right).unwrap();
        assert_eq!(right.dimensions(), (400, 400));
        assert!(right.to_rgb8().pixels().all(|it| *it == Rgb([0, 200, 0])));
    }

    #[test]
    fn a_photo_that_would_print_badly_is_refused() {
        let told = |bytes: &[u8], crop| prepare(bytes, crop).unwrap_err().0;
        assert!(told(b"not a picture", None).contains("neither a PNG nor a JPEG"));
        let whole = photo(300, 300, ImageFormat::Png);
        assert!(told(&whole[..whole.len() / 2], None).contains("damaged"));
        assert!(told(&photo(300, 200, ImageFormat::Png), None).contains("300 by 200 pixels"));
        assert!(told(&whole, Some([0, 0, 50, 100])).contains("150 by 300 pixels"));
    }

    #[test]
    fn a_photo_held_sideways_is_turned() {
        // The smallest note of how a camera was held: little endian, one entry, tag 0x0112, one short: 6, a quarter turn.
        let note = b"Exif\0\0II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0\x06\0\0\0\0\0\0\0";
        let plain = photo(600, 300, ImageFormat::Jpeg);
        let length = u16::try_from(note.len() + 2).unwrap().to_be_bytes();
        let held = [&plain[..2], &[0xff, 0xe1], &length, note, &plain[2..]].concat();
        let turned = prepare(&held, None).unwrap();
        assert_eq!(image::load_from_memory(&turned).unwrap().dimensions(), (300, 600));
        assert!(!turned.windows(4).any(|it| it == b"Exif"));
    }
}
