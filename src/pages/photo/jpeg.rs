//! JPEG: segments, of which only those stay that the picture is decoded with.
//!
//! Of the camera's notes one thing is kept, which way up the picture is, in a note of our own.

use super::{PhotoError, size};

/// How a JPEG begins.
pub(super) const BEGINS: &[u8] = &[0xff, 0xd8, 0xff];

/// Markers.
const BEGIN: u8 = 0xd8;
const END: u8 = 0xd9;
const SCAN: u8 = 0xda;
const NOTES: u8 = 0xe1;
const ADOBE: u8 = 0xee;

/// The picture alone.
pub(super) fn bare(bytes: &[u8]) -> Result<Vec<u8>, PhotoError> {
    let mut out = vec![0xff, BEGIN];
    let mut at = 2;
    let (mut framed, mut scanned, mut turned) = (false, false, false);
    loop {
        let (marker, next) = marker(bytes, at)?;
        at = next;
        match marker {
            END if framed && scanned => {
                out.extend([0xff, END]);
                // What follows is no part of the picture: others, films, anything.
                return Ok(out);
            }
            // These stand alone, and nowhere but within a scan.
            END | BEGIN | 0x00 | 0x01 | 0xd0..=0xd7 => return Err(PhotoError::Damaged),
            _ => {}
        }
        let segment = segment(bytes, at)?;
        let content = &segment[2..];
        at += segment.len();
        match marker {
            // Frames: how large the picture is and how it is coded.
            0xc0..=0xc3 | 0xc5..=0xc7 | 0xc9..=0xcb | 0xcd..=0xcf => {
                frame(content)?;
                framed = true;
                put(&mut out, marker, segment);
            }
            // Tables: Huffman, arithmetic, quantisation, lines, restarts.
            0xc4 | 0xcc | 0xdb | 0xdc | 0xdd => put(&mut out, marker, segment),
            SCAN if framed => {
                put(&mut out, marker, segment);
                let data = data(&bytes[at..])?;
                out.extend_from_slice(&bytes[at..at + data]);
                at += data;
                scanned = true;
            }
            SCAN => return Err(PhotoError::Damaged),
            // How colours are mixed; without it some pictures have wrong ones.
            ADOBE if content.starts_with(b"Adobe") && content.len() == 12 => {
                put(&mut out, marker, segment);
            }
            NOTES if !turned => {
                if let Some(way @ 2..=8) = way_up(content) {
                    turned = true;
                    note(&mut out, way);
                }
            }
            _ => {}
        }
    }
}

/// What paper must know of a picture.
pub(super) struct About {
    pub(super) width: u32,
    pub(super) height: u32,
    /// Colours of an element.
    pub(super) colours: u8,
    pub(super) way: u8,
    /// Its colours are mixed as one maker of programs has it.
    pub(super) adobe: bool,
}

/// Reads it up to the first scan; nothing where the picture is coded as paper does not take it.
pub(super) fn about(bytes: &[u8]) -> Option<About> {
    let (mut at, mut way, mut adobe, mut size) = (2, 1, false, None);
    loop {
        let (marker, next) = marker(bytes, at).ok()?;
        let segment = segment(bytes, next).ok()?;
        let content = &segment[2..];
        at = next + segment.len();
        match marker {
            0xc0..=0xc2 => {
                let [8, h1, h2, w1, w2, colours, ..] = *content else { return None };
                let number = |high, low| u32::from(u16::from_be_bytes([high, low]));
                size = Some((number(w1, w2), number(h1, h2), colours));
            }
            0xc3 | 0xc5..=0xc7 | 0xc9..=0xcb | 0xcd..=0xcf => return None,
            ADOBE => adobe |= content.starts_with(b"Adobe"),
            NOTES => way = way_up(content).filter(|way| (1..=8).contains(way)).unwrap_or(way),
            SCAN => {
                let (width, height, colours) = size?;
                return Some(About { width, height, colours, way, adobe });
            }
            _ => {}
        }
    }
}

fn put(out: &mut Vec<u8>, marker: u8, segment: &[u8]) {
    out.extend([0xff, marker]);
    out.extend_from_slice(segment);
}

/// The marker at a place, behind what fills up before it; and where what belongs to it begins.
fn marker(bytes: &[u8], mut at: usize) -> Result<(u8, usize), PhotoError> {
    if bytes.get(at) != Some(&0xff) {
        return Err(PhotoError::Damaged);
    }
    while bytes.get(at) == Some(&0xff) {
        at += 1;
    }
    bytes.get(at).map(|marker| (*marker, at + 1)).ok_or(PhotoError::Damaged)
}

/// A segment with its length before it.
fn segment(bytes: &[u8], at: usize) -> Result<&[u8], PhotoError> {
    let length = bytes.get(at..at + 2).ok_or(PhotoError::Damaged)?;
    let length = usize::from(u16::from_be_bytes([length[0], length[1]]));
    if length < 2 {
        return Err(PhotoError::Damaged);
    }
    bytes.get(at..at + length).ok_or(PhotoError::Damaged)
}

/// Checks the size that a frame tells.
fn frame(content: &[u8]) -> Result<(), PhotoError> {
    let [_, h1, h2, w1, w2, ..] = *content else { return Err(PhotoError::Damaged) };
    size(u32::from(u16::from_be_bytes([w1, w2])), u32::from(u16::from_be_bytes([h1, h2])))
}

/// Bytes of a scan up to the marker that ends it; restarts and stuffed bytes are within it.
fn data(bytes: &[u8]) -> Result<usize, PhotoError> {
    let mut at = 0;
    loop {
        at += memchr::memchr(0xff, &bytes[at..]).ok_or(PhotoError::Damaged)?;
        match bytes.get(at + 1) {
            Some(0x00 | 0xd0..=0xd7) => at += 2,
            Some(0xff) => at += 1,
            Some(_) => return Ok(at),
            None => return Err(PhotoError::Damaged),
        }
    }
}

/// Which way up a picture is by the camera's notes, 1 to 8.
fn way_up(content: &[u8]) -> Option<u8> {
    const TAG: u16 = 0x0112;
    let notes = content.strip_prefix(b"Exif\0\0")?;
    let big = match notes.get(..2)? {
        b"MM" => true,
        b"II" => false,
        _ => return None,
    };
    let short = |at: usize| {
        let two: [u8; 2] = notes.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if big { u16::from_be_bytes(two) } else { u16::from_le_bytes(two) })
    };
    let long = |at: usize| {
        let four: [u8; 4] = notes.get(at..at.checked_add(4)?)?.try_into().ok()?;
        Some(if big { u32::from_be_bytes(four) } else { u32::from_le_bytes(four) })
    };
    let list = usize::try_from(long(4)?).ok()?;
    let count = usize::from(short(list)?);
    let entry = (0..count)
        .map_while(|n| list.checked_add(2 + 12 * n))
        .find(|entry| short(*entry) == Some(TAG))?;
    u8::try_from(short(entry.checked_add(8)?)?).ok()
}

/// A note of our own that says nothing but which way up.
fn note(out: &mut Vec<u8>, way: u8) {
    let mut note = b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".to_vec();
    note.extend([way, 0, 0, 0, 0, 0, 0]);
    let length = u16::try_from(note.len() + 2).unwrap_or(u16::MAX);
    out.extend([0xff, NOTES]);
    out.extend(length.to_be_bytes());
    out.extend(note);
}
