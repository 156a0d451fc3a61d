//! Photos that are kept beside an entry: what is one, judged by its content, without what it says of
//! where, when and with what it was taken.
//!
//! A picture is walked through by its own structure; what shows the picture stays byte by byte, everything
//! else goes. Nothing is decoded but what paper cannot take as it is. It must not open files, or know jobs.

mod jpeg;
mod png;
mod raster;

use thiserror::Error;

pub use raster::{Colours, Raster, raster};

/// Bytes of a photo that is taken in.
pub const LARGEST: usize = 10 * 1024 * 1024;
/// Longest side, in picture elements.
const LONGEST: u32 = 20_000;
/// Elements in all: a phone's largest has two thirds of it.
const ELEMENTS: u64 = 300_000_000;

/// In which form a photo is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// JPEG.
    Jpeg,
    /// PNG.
    Png,
}

impl Kind {
    /// The form as browsers name it.
    #[must_use]
    pub fn media(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
        }
    }

    /// The ending of a file of it.
    #[must_use]
    pub fn ending(self) -> &'static str {
        match self {
            Self::Jpeg => "jpg",
            Self::Png => "png",
        }
    }
}

/// A photo with nothing in it but the picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Photo {
    /// Its form.
    pub kind: Kind,
    /// The whole file.
    pub bytes: Vec<u8>,
}

/// Why something is no photo that can be kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum PhotoError {
    /// Neither form.
    #[error("that is neither a JPEG nor a PNG: take the photo in one of these forms")]
    Unknown,
    /// Too many bytes.
    #[error("that photo is over {} MiB: make it smaller first", LARGEST >> 20)]
    TooLarge,
    /// Torn, or put together wrongly.
    #[error("that photo is damaged: take it again, or save it anew")]
    Damaged,
    /// Too many picture elements, or none.
    #[error("that picture has no size that a photo has: at most 20000 a side")]
    Size,
}

/// Takes a photo: what it is by its content, and nothing in it but the picture.
///
/// # Errors
/// When it is none, or too large.
pub fn taken(bytes: &[u8]) -> Result<Photo, PhotoError> {
    if bytes.len() > LARGEST {
        return Err(PhotoError::TooLarge);
    }
    if bytes.starts_with(jpeg::BEGINS) {
        return Ok(Photo { kind: Kind::Jpeg, bytes: jpeg::bare(bytes)? });
    }
    if bytes.starts_with(png::BEGINS) {
        return Ok(Photo { kind: Kind::Png, bytes: png::bare(bytes)? });
    }
    Err(PhotoError::Unknown)
}

/// Refuses a size that no photo has.
fn size(width: u32, height: u32) -> Result<(), PhotoError> {
    let lawful = |side: u32| (1..=LONGEST).contains(&side);
    let elements = u64::from(width) * u64::from(height);
    if lawful(width) && lawful(height) && elements <= ELEMENTS {
        Ok(())
    } else {
        Err(PhotoError::Size)
    }
}

#[cfg(test)]
mod tests;
