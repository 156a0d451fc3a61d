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
