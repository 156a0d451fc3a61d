//! Cuts a file into pieces that end where a record ends, so that each can be read by itself.
//!
//! A line beyond [`LONGEST`] is dropped as it comes and counted; memory stays at a few blocks
//! whatever the file. It must not look into the fields.

use std::io::{self, Read};

use memchr::{memchr, memchr_iter, memrchr};

use super::finding::{Code, Findings};
use super::records;
use super::text::Source;

/// Longest line that is read, bytes.
pub const LONGEST: usize = 1 << 20;

/// Whole records of a file.
pub(super) struct Chunk {
    /// The text.
    pub(super) bytes: Vec<u8>,
    /// Lines of the file before it.
    pub(super) lines_before: u64,
    /// Lines in it.
    pub(super) lines: u64,
    /// There are quotes in it.
    pub(super) quoted: bool,
    /// Bytes of the file taken when it was cut.
    pub(super) taken: u64,
}

/// Cuts chunks off a source.
pub(super) struct Chunker<R> {
    pub(super) source: Source<R>,
    /// What was read and not handed on.
    pub(super) pending: Vec<u8>,
    pub(super) lines: u64,
    pub(super) delimiter: u8,
    pub(super) findings: Findings,
    dropping: bool,
}

impl<R: Read> Chunker<R> {
    pub(super) fn new(source: Source<R>, pending: Vec<u8>, delimiter: u8) -> Self {
        let findings = Findings::default();
        Self { source, pending, lines: 0, delimiter, findings, dropping: false }
    }

    /// The next chunk, or nothing at the end.
    pub(super) fn next(&mut self) -> io::Result<Option<Chunk>> {
        // What has come is handed on before more is waited for.
        let mut there = self.source.at_once && memchr(b'\n', &self.pending).is_some();
        loop {
            let more = std::mem::take(&mut there) || self.source.more(&mut self.pending)?;
            if self.dropping {
                let Some(end) = memchr(b'\n', &self.pending) else {
                    self.pending.clear();
                    if more {
                        continue;
                    }
                    return Ok(None);
                };
                self.pending.drain(..=end);
                self.lines += 1;
                self.dropping = false;
            }
            let mut quoted = memchr(b'"', &self.pending).is_some();
            let last_line = memrchr(b'\n', &self.pending).map_or(0, |end| end + 1);
            let mut cut = last_line;
            if quoted {
                cut = records::each(&self.pending, self.delimiter, false, |_| true);
            }
            if cut == 0 && self.pending.len() > LONGEST || !more && cut < last_line {
                // Either a quote swallowed line after line, or there is no line end at all.
                let place = (self.lines + 1, 0);
                if last_line > 0 {
                    self.findings.add(Code::OpenQuote, place, open_quote);
                    (cut, quoted) = (last_line, false);
                } else {
                    self.findings.add(Code::LongLine, place, long_line);
                    self.pending.clear();
                    self.dropping = true;
                    continue;
                }
            }
            if cut == 0 && more {
                continue;
            }
            if !more && cut < self.pending.len() {
                let place = (self.lines + 1 + memchr_iter(b'\n', &self.pending).count() as u64, 0);
                self.findings.add(Code::CutOff, place, cut_off);
                self.pending.truncate(cut);
            }
            if self.pending.is_empty() {
                return Ok(None);
            }
            let rest = self.pending.split_off(cut);
            let bytes = std::mem::replace(&mut self.pending, rest);
            let lines = memchr_iter(b'\n', &bytes).count() as u64;
            let lines_before = self.lines;
            self.lines += lines;
            return Ok(Some(Chunk {
                bytes,
                lines_before,
                lines,
                quoted,
                taken: self.source.taken,
            }));
        }
    }
}

fn open_quote() -> (String, String) {
    (
        "a quote is opened and never closed".to_owned(),
        "quotes from here on were taken as they stand; mend the file".to_owned(),
    )
}

fn long_line() -> (String, String) {
    ("the line is longer than 1 MiB".to_owned(), "it was left out".to_owned())
}

fn cut_off() -> (String, String) {
    (
        "the last line has no end, so its last number may be cut".to_owned(),
        "it was left out".to_owned(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cut(text: &[u8]) -> (Vec<Chunk>, Findings) {
        let mut chunker = Chunker::new(Source::new(text), Vec::new(), b',');
        let mut chunks = Vec::new();
        while let Some(chunk) = chunker.next().expect("readable") {
            chunks.push(chunk);
        }
        (chunks, chunker.findings)
    }

    fn codes(findings: Findings) -> Vec<(Code, u64, u64)> {
        findings.into_list().into_iter().map(|f| (f.code, f.line, f.count)).collect()
    }

    #[test]
    fn chunks_put_together_are_the_file_and_end_with_lines() {
        let mut text = Vec::new();
        for i in 0..100_000 {
            text.extend_from_slice(format!("{i},{}\n", i % 7).as_bytes());
        }
        let (chunks, findings) = cut(&text);
        assert!(chunks.len() > 2 && findings.is_empty());
        let mut lines = 0;
        for chunk in &chunks {
            assert_eq!((chunk.lines_before, chunk.bytes.last()), (lines, Some(&b'\n')));
            lines += chunk.lines;
        }
        assert_eq!(lines, 100_000);
        assert_eq!(chunks.into_iter().flat_map(|c| c.bytes).collect::<Vec<_>>(), text);
    }

    #[test]
    fn a_line_without_end_is_dropped_and_told() {
        let mut text = b"1,2\n".to_vec();
        text.extend(std::iter::repeat_n(b'7', 3 * LONGEST));
        text.extend_from_slice(b"\n3,4\n5");
        let (chunks, findings) = cut(&text);
        let kept: Vec<u8> = chunks.iter().flat_map(|c| c.bytes.clone()).collect();
        assert_eq!(kept, b"1,2\n3,4\n");
        assert_eq!(chunks.last().expect("one").lines_before, 2);
        assert_eq!(codes(findings), [(Code::LongLine, 2, 1), (Code::CutOff, 4, 1)]);
    }

    #[test]
    fn a_quote_left_open_costs_no_rows() {
        let mut text = b"1,\"2\n".to_vec();
        for _ in 0..LONGEST / 2 {
            text.extend_from_slice(b"3,4\n");
        }
        let (chunks, findings) = cut(&text);
        assert_eq!(chunks.iter().map(|c| c.lines).sum::<u64>(), 1 + LONGEST as u64 / 2);
        assert_eq!(codes(findings), [(Code::OpenQuote, 1, 1)]);
    }
}
