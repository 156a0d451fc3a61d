//! From the bytes of a file to bytes of text in which a line end is a line end.
//!
//! A byte order mark says UTF-8 or UTF-16; without one, bytes that are lawful UTF-8 are that, and
//! the rest is windows-1252. Numbers look the same in both, so only UTF-16 is converted on the way
//! through. It must not hold more than a block of the file.

use std::io::{self, Read};

use encoding_rs::{CoderResult, Decoder, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};
use sha2::{Digest, Sha256};

use crate::hexadecimal::hexadecimal;
use crate::named_enum;

named_enum! {
    /// How the characters of a log are written.
    Encoding, "encoding" {
        /// UTF-8.
        Utf8 = "utf-8",
        /// Windows-1252, the usual Western code page.
        Windows1252 = "windows-1252",
        /// UTF-16, low byte first.
        Utf16Le = "utf-16le",
        /// UTF-16, high byte first.
        Utf16Be = "utf-16be",
    }
}

impl Encoding {
    fn coding(self) -> &'static encoding_rs::Encoding {
        match self {
            Self::Utf8 => UTF_8,
            Self::Windows1252 => WINDOWS_1252,
            Self::Utf16Le => UTF_16LE,
            Self::Utf16Be => UTF_16BE,
        }
    }

    /// Guesses from the start of a file; the flag says that it was no more than a guess.
    pub(super) fn guess(start: &[u8]) -> (Self, bool) {
        if let Some((coding, _)) = encoding_rs::Encoding::for_bom(start) {
            let known = [Self::Utf8, Self::Utf16Le, Self::Utf16Be];
            return (known.into_iter().find(|e| e.coding() == coding).unwrap_or(Self::Utf8), false);
        }
        // Digits and delimiters of UTF-16 without a mark have every other byte nought.
        let pairs = start.len() / 2;
        let noughts = |odd: usize| start.chunks_exact(2).filter(|p| p[odd] == 0).count();
        if pairs >= 4 && noughts(1) * 10 > pairs * 8 && noughts(0) == 0 {
            return (Self::Utf16Le, true);
        }
        if pairs >= 4 && noughts(0) * 10 > pairs * 8 && noughts(1) == 0 {
            return (Self::Utf16Be, true);
        }
        match std::str::from_utf8(start) {
            Ok(_) => (Self::Utf8, false),
            // A character cut in two by the end of the block is no fault.
            Err(error) if error.error_len().is_none() => (Self::Utf8, false),
            Err(_) => (Self::Windows1252, true),
        }
    }

    /// Text for people, from bytes that came through a [`Source`].
    pub(super) fn words(self, bytes: &[u8]) -> String {
        match self {
            Self::Windows1252 => WINDOWS_1252.decode_without_bom_handling(bytes).0.into_owned(),
            _ => String::from_utf8_lossy(bytes).into_owned(),
        }
    }
}

/// A file on its way through: counted, hashed, converted if need be.
pub(super) struct Source<R> {
    from: R,
    hash: Sha256,
    /// Bytes taken from the file.
    pub(super) taken: u64,
    decoder: Option<Decoder>,
    raw: Vec<u8>,
    ended: bool,
    /// What has come is handed on, without waiting for a block to be full.
    pub(super) at_once: bool,
}

/// Bytes taken from a file at a time; of one that grows so few that what happens in it is told in order.
const BLOCK: usize = 256 * 1024;
const BIT: usize = 1024;

impl<R: Read> Source<R> {
    pub(super) fn new(from: R) -> Self {
        let (hash, raw) = (Sha256::new(), Vec::new());
        Self { from, hash, taken: 0, decoder: None, raw, ended: false, at_once: false }
    }

    /// Of something that grows: each read gives what is there.
    pub(super) fn at_once(from: R) -> Self {
        Self { at_once: true, ..Self::new(from) }
    }

    /// From now on bytes are in this encoding; what `start` holds already is converted.
    pub(super) fn set_encoding(&mut self, encoding: Encoding, start: &mut Vec<u8>) {
        if matches!(encoding, Encoding::Utf16Le | Encoding::Utf16Be) {
            self.decoder = Some(encoding.coding().new_decoder_with_bom_removal());
            let raw = std::mem::take(start);
            let ended = self.ended;
            self.convert(&raw, ended, start);
        } else if start.starts_with(b"\xef\xbb\xbf") {
            start.drain(..3);
        }
    }

    /// Adds the next block to `into`; false at the end of the file.
    pub(super) fn more(&mut self, into: &mut Vec<u8>) -> io::Result<bool> {
        if self.ended {
            return Ok(false);
        }
        if self.decoder.is_none() {
            let before = into.len();
            into.resize(before + self.block(), 0);
            let read = fill(&mut self.from, &mut into[before..], self.at_once)?;
            into.truncate(before + read);
            self.hash.update(&into[before..]);
            self.taken += read as u64;
            self.ended = read == 0;
            return Ok(read > 0);
        }
        let mut raw = std::mem::take(&mut self.raw);
        raw.resize(self.block(), 0);
        let read = fill(&mut self.from, &mut raw, self.at_once)?;
        self.hash.update(&raw[..read]);
        self.taken += read as u64;
        self.ended = read == 0;
        self.convert(&raw[..read], read == 0, into);
        self.raw = raw;
        Ok(read > 0)
    }

    fn block(&self) -> usize {
        if self.at_once { BIT } else { BLOCK }
    }

    fn convert(&mut self, mut raw: &[u8], last: bool, into: &mut Vec<u8>) {
        let Some(decoder) = &mut self.decoder else { return };
        loop {
            let before = into.len();
            let room = decoder.max_utf8_buffer_length(raw.len()).unwrap_or(4 * raw.len() + 16);
            into.resize(before + room, 0);
            let (result, read, written, _) = decoder.decode_to_utf8(raw, &mut into[before..], last);
            into.truncate(before + written);
            raw = &raw[read..];
            if result == CoderResult::InputEmpty {
                return;
            }
        }
    }

    /// SHA-256 of all bytes taken, in hexadecimal.
    pub(super) fn hash(&self) -> String {
        hexadecimal(&self.hash.clone().finalize())
    }
}

/// Reads until the buffer is full or the file ends, or until something was read.
fn fill(from: &mut impl Read, buffer: &mut [u8], at_once: bool) -> io::Result<usize> {
    let mut full = 0;
    while full < buffer.len() && !(at_once && full > 0) {
        match from.read(&mut buffer[full..]) {
            Ok(0) => break,
            Ok(read) => full += read,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
    Ok(full)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn encodings_are_told_by_mark_or_by_lawfulness() {
        let wide = |text: &str, le: bool| -> Vec<u8> {
            text.encode_utf16()
                .flat_map(|u| if le { u.to_le_bytes() } else { u.to_be_bytes() })
                .collect()
        };
        let cases = [
            (b"t;EGT 1".to_vec(), (Encoding::Utf8, false)),
            ("t;°C".as_bytes().to_vec(), (Encoding::Utf8, false)),
            (b"\xef\xbb\xbft".to_vec(), (Encoding::Utf8, false)),
            (b"t;\xb0C".to_vec(), (Encoding::Windows1252, true)),
            (wide("\u{feff}t;1", true), (Encoding::Utf16Le, false)),
            (wide("time;1;2;3", true), (Encoding::Utf16Le, true)),
            (wide("time;1;2;3", false), (Encoding::Utf16Be, true)),
            ("t;°".as_bytes()[..3].to_vec(), (Encoding::Utf8, false)),
        ];
        for (bytes, expected) in cases {
            assert_eq!(Encoding::guess(&bytes), expected, "{bytes:?}");
        }
    }

    #[test]
    fn wide_text_comes_through_and_the_hash_is_of_the_file() {
        let bytes: Vec<u8> = "\u{feff}a;ö\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
        let mut source = Source::new(&bytes[..]);
        let mut text = Vec::new();
        source.more(&mut text).expect("readable");
        source.set_encoding(Encoding::Utf16Le, &mut text);
        while source.more(&mut text).expect("readable") {}
        assert_eq!(text, "a;ö\n".as_bytes());
        // sha256sum of an empty file.
        let empty = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855";
        assert_eq!(Source::new(&b""[..]).hash(), empty);
    }
}
