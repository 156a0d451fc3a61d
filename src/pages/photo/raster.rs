//! A photo as paper takes it: a JPEG as it is, a PNG as rows pressed together, and how its colours are meant.
//!
//! What no paper of ours takes, or would need more memory than a photo is worth, gives nothing.

use miniz_oxide::deflate::compress_to_vec_zlib;
use miniz_oxide::inflate::decompress_to_vec_zlib_with_limit;

use super::{jpeg, png};

/// Bytes of the rows of a picture, at most: one of 25 million elements has three quarters of it.
const ROWS: usize = 100_000_000;
/// How hard rows are pressed together.
const LEVEL: u8 = 6;

/// How the colours of a picture are meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Colours {
    /// Shades of grey.
    Grey,
    /// Red, green and blue.
    Rgb,
    /// The four of a press; inverted as some programs write them.
    Cmyk {
        /// Nought is the most.
        inverted: bool,
    },
    /// Places of a list of red, green and blue.
    List(Vec<u8>),
}

/// A photo as paper takes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Raster {
    /// Elements beside each other, as stored.
    pub width: u32,
    /// Rows, as stored.
    pub height: u32,
    /// Which way up, 1 to 8 as cameras say it.
    pub way: u8,
    /// Bits of a colour.
    pub bits: u8,
    /// How colours are meant.
    pub colours: Colours,
    /// The bytes are a JPEG; else rows, pressed together.
    pub jpeg: bool,
    /// The picture.
    pub bytes: Vec<u8>,
}

/// A photo that was taken in, as paper takes it.
#[must_use]
pub fn raster(bytes: &[u8]) -> Option<Raster> {
    if bytes.starts_with(jpeg::BEGINS) {
        let about = jpeg::about(bytes)?;
        let colours = match about.colours {
            1 => Colours::Grey,
            3 => Colours::Rgb,
            4 => Colours::Cmyk { inverted: about.adobe },
            _ => return None,
        };
        let (width, height, way) = (about.width, about.height, about.way);
        return Some(Raster {
            width,
            height,
            way,
            bits: 8,
            colours,
            jpeg: true,
            bytes: bytes.to_vec(),
        });
    }
    let parts = png::parts(bytes)?;
    let (colours, channels, clear) = match parts.colour {
        0 => (Colours::Grey, 1, 0),
        2 => (Colours::Rgb, 3, 0),
        3 => (Colours::List(parts.list.clone()), 1, 0),
        4 => (Colours::Grey, 1, 1),
        6 => (Colours::Rgb, 3, 1),
        _ => return None,
    };
    let lawful = match parts.colour {
        0 => matches!(parts.bits, 1 | 2 | 4 | 8 | 16),
        3 => {
            matches!(parts.bits, 1 | 2 | 4 | 8)
                && !parts.list.is_empty()
                && parts.list.len() % 3 == 0
        }
        _ => matches!(parts.bits, 8 | 16),
    };
    if !lawful || parts.woven {
        return None;
    }
    let (wide, high) = (usize::try_from(parts.width).ok()?, usize::try_from(parts.height).ok()?);
    let element = usize::from(parts.bits) * (channels + clear);
    let row = wide.checked_mul(element)?.div_ceil(8);
    let whole = row.checked_add(1)?.checked_mul(high)?;
    if whole > ROWS {
        return None;
    }
    let packed = decompress_to_vec_zlib_with_limit(&parts.data, whole).ok()?;
    if packed.len() != whole {
        return None;
    }
    let mut rows = png::unfiltered(&packed, row, element.div_ceil(8))?;
    if clear > 0 {
        rows = on_white(&rows, channels, usize::from(parts.bits / 8));
    }
    Some(Raster {
        width: parts.width,
        height: parts.height,
        way: 1,
        bits: parts.bits,
        colours,
        jpeg: false,
        bytes: compress_to_vec_zlib(&rows, LEVEL),
    })
}

/// Rows of colours with how clear each is, laid on white paper; a number has one byte or two.
fn on_white(rows: &[u8], channels: usize, bytes: usize) -> Vec<u8> {
    let number = |at: &[u8]| at.iter().fold(0_u32, |sum, byte| sum << 8 | u32::from(*byte));
    let most = if bytes == 1 { 0xff } else { 0xffff };
    let mut out = Vec::with_capacity(rows.len() / (channels + 1) * channels);
    for element in rows.chunks_exact((channels + 1) * bytes) {
        let (colours, clear) = element.split_at(channels * bytes);
        let clear = number(clear);
        for colour in colours.chunks_exact(bytes) {
            // Both are at most 65535, so that it stays within 32 bits.
            let mixed = (number(colour) * clear).saturating_add(most * (most - clear)) / most;
            out.extend_from_slice(&mixed.min(most).to_be_bytes()[4 - bytes..]);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chunk(name: [u8; 4], content: &[u8]) -> Vec<u8> {
        let length = u32::try_from(content.len()).expect("short").to_be_bytes();
        [&length[..], &name, content, &[0; 4]].concat()
    }

    /// A PNG of 2 by 2 elements.
    fn png_of(colour: u8, bits: u8, woven: u8, rows: &[u8]) -> Vec<u8> {
        let head = [0, 0, 0, 2, 0, 0, 0, 2, bits, colour, 0, 0, woven];
        [
            png::BEGINS.to_vec(),
            chunk(*b"IHDR", &head),
            chunk(*b"PLTE", &[1, 2, 3, 4, 5, 6]),
            chunk(*b"IDAT", &compress_to_vec_zlib(rows, 6)),
            chunk(*b"IEND", &[]),
        ]
        .concat()
    }

    fn rows_of(raster: &Raster) -> Vec<u8> {
        decompress_to_vec_zlib_with_limit(&raster.bytes, 1000).expect("rows")
    }

    #[test]
    fn rows_are_as_they_were_before_they_were_filtered() {
        // None; left; up; mean; whichever of the three is nearest: worked by hand.
        let pairs: [(&[u8], [u8; 4]); 4] = [
            (&[0, 10, 20, 1, 10, 20], [10, 20, 10, 30]),
            (&[0, 10, 20, 2, 1, 2], [10, 20, 11, 22]),
            (&[0, 10, 20, 3, 1, 2], [10, 20, 6, 15]),
            (&[0, 10, 20, 4, 1, 2], [10, 20, 11, 22]),
        ];
        for (filtered, plain) in pairs {
            let raster = raster(&png_of(0, 8, 0, filtered)).expect("a picture");
            assert_eq!(rows_of(&raster), plain);
        }
    }

    #[test]
    fn what_is_clear_lies_on_white() {
        let rows = [0, 0, 255, 0, 0, 0, 100, 128, 100, 255];
        let raster = raster(&png_of(4, 8, 0, &rows)).expect("a picture");
        assert_eq!(rows_of(&raster), [0, 255, 177, 100]);
        assert_eq!(raster.colours, Colours::Grey);
    }

    #[test]
    fn what_paper_does_not_take_is_nothing() {
        let rows = [0, 10, 20, 0, 10, 20];
        assert!(raster(&png_of(0, 8, 0, &rows)).is_some());
        for (colour, bits, woven, rows) in [
            (0, 8, 1, &rows[..]),
            (0, 3, 0, &rows),
            (5, 8, 0, &rows),
            (0, 8, 0, &rows[..5]),
            (0, 8, 0, &[5, 1, 2, 0, 1, 2]),
        ] {
            assert_eq!(raster(&png_of(colour, bits, woven, rows)), None);
        }
        let whole = png_of(0, 8, 0, &rows);
        for cut in 0..whole.len() - 12 {
            assert_eq!(raster(&whole[..cut]), None, "{cut}");
        }
        for none in [&b""[..], b"\xff\xd8\xff", b"GIF89a"] {
            assert_eq!(raster(none), None);
        }
    }
}
