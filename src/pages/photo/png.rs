//! PNG: chunks, of which only those stay that the picture is decoded with.

use super::{PhotoError, size};

/// How a PNG begins.
pub(super) const BEGINS: &[u8] = b"\x89PNG\r\n\x1a\n";

/// Chunks that stay: the picture, its colours, what is clear in it.
const KEPT: [&[u8; 4]; 8] =
    [b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"gAMA", b"cHRM", b"sRGB", b"IEND"];

/// The picture alone.
pub(super) fn bare(bytes: &[u8]) -> Result<Vec<u8>, PhotoError> {
    let mut out = BEGINS.to_vec();
    let mut rest = &bytes[BEGINS.len()..];
    let mut drawn = false;
    loop {
        let (head, _) = rest.split_first_chunk::<8>().ok_or(PhotoError::Damaged)?;
        let length = u32::from_be_bytes([head[0], head[1], head[2], head[3]]);
        let length = usize::try_from(length).map_err(|_| PhotoError::Damaged)?;
        let whole = length.checked_add(12).ok_or(PhotoError::Damaged)?;
        let chunk = rest.get(..whole).ok_or(PhotoError::Damaged)?;
        let name: [u8; 4] = [head[4], head[5], head[6], head[7]];
        let first = out.len() == BEGINS.len();
        if first != (&name == b"IHDR") {
            return Err(PhotoError::Damaged);
        }
        if first {
            header(&chunk[8..whole - 4])?;
        }
        if KEPT.contains(&&name) {
            out.extend_from_slice(chunk);
        }
        drawn |= &name == b"IDAT" && length > 0;
        if &name == b"IEND" {
            // What follows is no part of the picture.
            return if drawn { Ok(out) } else { Err(PhotoError::Damaged) };
        }
        rest = &rest[whole..];
    }
}

fn header(content: &[u8]) -> Result<(), PhotoError> {
    let [w1, w2, w3, w4, h1, h2, h3, h4, _, _, _, _, _] = *content else {
        return Err(PhotoError::Damaged);
    };
    size(u32::from_be_bytes([w1, w2, w3, w4]), u32::from_be_bytes([h1, h2, h3, h4]))
}

/// What paper must know of a picture, and its rows as they are pressed together in it.
pub(super) struct Parts {
    pub(super) width: u32,
    pub(super) height: u32,
    pub(super) bits: u8,
    pub(super) colour: u8,
    /// Rows come in several passes.
    pub(super) woven: bool,
    pub(super) list: Vec<u8>,
    pub(super) data: Vec<u8>,
}

/// Reads the chunks.
pub(super) fn parts(bytes: &[u8]) -> Option<Parts> {
    let mut rest = bytes.strip_prefix(BEGINS)?;
    let (mut head, mut list, mut data) = (None, Vec::new(), Vec::new());
    loop {
        let (begins, after) = rest.split_first_chunk::<8>()?;
        let [l1, l2, l3, l4, name @ ..] = *begins;
        let length = usize::try_from(u32::from_be_bytes([l1, l2, l3, l4])).ok()?;
        let content = after.get(..length)?;
        match &name {
            b"IHDR" => head = <[u8; 13]>::try_from(content).ok(),
            b"PLTE" => list = content.to_vec(),
            b"IDAT" => data.extend_from_slice(content),
            b"IEND" => break,
            _ => {}
        }
        rest = after.get(length.checked_add(4)?..)?;
    }
    let [w1, w2, w3, w4, h1, h2, h3, h4, bits, colour, 0, 0, woven] = head? else { return None };
    let (width, height) =
        (u32::from_be_bytes([w1, w2, w3, w4]), u32::from_be_bytes([h1, h2, h3, h4]));
    size(width, height).ok()?;
    Some(Parts { width, height, bits, colour, woven: woven != 0, list, data })
}

/// Rows as they were before each was written by its difference from what stands about it; `step` bytes are an
/// element.
pub(super) fn unfiltered(packed: &[u8], row: usize, step: usize) -> Option<Vec<u8>> {
    let mut out: Vec<u8> = Vec::with_capacity(packed.len());
    for (number, line) in packed.chunks_exact(row + 1).enumerate() {
        let begins = number * row;
        let filter = line[0];
        for (place, &byte) in line[1..].iter().enumerate() {
            let above = |back: usize| {
                let there = number > 0 && place >= back;
                if there { out[begins - row + place - back] } else { 0 }
            };
            let left = if place >= step { out[begins + place - step] } else { 0 };
            let foretold = match filter {
                0 => 0,
                1 => left,
                2 => above(0),
                3 => u8::midpoint(left, above(0)),
                4 => nearest(left, above(0), above(step)),
                _ => return None,
            };
            out.push(byte.wrapping_add(foretold));
        }
    }
    Some(out)
}

/// Whichever of three is nearest to what they foretell together.
fn nearest(left: u8, up: u8, corner: u8) -> u8 {
    let foretold = i16::from(left) + i16::from(up) - i16::from(corner);
    let far = |value: u8| (foretold - i16::from(value)).abs();
    if far(left) <= far(up) && far(left) <= far(corner) {
        left
    } else if far(up) <= far(corner) {
        up
    } else {
        corner
    }
}
