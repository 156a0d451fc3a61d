//! The typeface of pictures and printed pages: what it has and how wide it runs.
//!
//! `DejaVu` Sans, cut down and built in, so that no page depends on what is installed.

use std::sync::LazyLock;

use ttf_parser::{Face, GlyphId};

use super::super::doc::clean;

/// Regular or bold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// Running text.
    Regular,
    /// Headings and what counts.
    Bold,
}

impl Weight {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Regular, Self::Bold];

    /// The font file.
    #[must_use]
    pub fn data(self) -> &'static [u8] {
        match self {
            Self::Regular => include_bytes!("../fonts/DejaVuSans.ttf"),
            Self::Bold => include_bytes!("../fonts/DejaVuSans-Bold.ttf"),
        }
    }

    /// The font, read.
    #[must_use]
    pub fn face(self) -> Option<&'static Face<'static>> {
        static FACES: LazyLock<[Option<Face<'static>>; 2]> =
            LazyLock::new(|| Weight::ALL.map(|weight| Face::parse(weight.data(), 0).ok()));
        FACES[self as usize].as_ref()
    }

    /// The glyph of a character, the one for "missing" if there is none.
    #[must_use]
    pub fn glyph(self, c: char) -> GlyphId {
        self.face().and_then(|face| face.glyph_index(c)).unwrap_or(GlyphId(0))
    }

    /// Width of a glyph in thousandths of the type's height.
    #[must_use]
    pub fn advance(self, glyph: GlyphId) -> f64 {
        let Some(face) = self.face() else { return 600.0 };
        let units = f64::from(face.units_per_em());
        f64::from(face.glyph_hor_advance(glyph).unwrap_or(0)) * 1000.0 / units
    }
}

/// Width of a text in points.
#[must_use]
pub fn width(text: &str, size: f64, weight: Weight) -> f64 {
    text.chars().map(|c| weight.advance(weight.glyph(c))).sum::<f64>() * size / 1000.0
}

/// Text that is harmless and that the typeface has: what it lacks shows as `U+FFFD`.
#[must_use]
pub fn shown(text: &str) -> String {
    clean(text)
        .chars()
        .map(|c| if Weight::Regular.glyph(c) == GlyphId(0) { '\u{fffd}' } else { c })
        .collect()
}

/// Breaks a text into lines no wider than `room`; a word too long for a line is cut.
#[must_use]
pub fn wrap(text: &str, room: f64, size: f64, weight: Weight) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    let mut used = 0.0;
    let space = width(" ", size, weight);
    for word in text.split(' ') {
        let long = width(word, size, weight);
        if !line.is_empty() && used + space + long > room {
            lines.push(std::mem::take(&mut line));
            used = 0.0;
        }
        if !line.is_empty() {
            line.push(' ');
            used += space;
        }
        if long <= room {
            line.push_str(word);
            used += long;
            continue;
        }
        for c in word.chars() {
            let wide = width(c.encode_utf8(&mut [0; 4]), size, weight);
            if used + wide > room && !line.is_empty() {
                lines.push(std::mem::take(&mut line));
                used = 0.0;
            }
            line.push(c);
            used += wide;
        }
    }
    lines.push(line);
    lines
}

/// A text cut to `room`, with an ellipsis where something was left out.
#[must_use]
pub fn cut(text: &str, room: f64, size: f64, weight: Weight) -> String {
    let text = shown(text);
    if width(&text, size, weight) <= room {
        return text;
    }
    let mut out = String::new();
    let mut used = width("…", size, weight);
    for c in text.chars() {
        used += width(c.encode_utf8(&mut [0; 4]), size, weight);
        if used > room {
            break;
        }
        out.push(c);
    }
    format!("{}…", out.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_weights_are_sound_and_have_what_pages_use() {
        for weight in Weight::ALL {
            assert!(weight.face().is_some());
            for c in "AZaz09 °±−–→≤×·…éßÄçłřΩμДж€?\u{fffd}".chars() {
                assert_ne!(weight.glyph(c), GlyphId(0), "{c} {weight:?}");
            }
        }
        assert!(width("mm", 10.0, Weight::Bold) > width("mm", 10.0, Weight::Regular));
    }

    #[test]
    fn what_the_typeface_lacks_is_seen_to_be_missing() {
        assert_eq!(shown("a 温 b\u{202e}\n"), "a \u{fffd} b\u{fffd}");
    }

    #[test]
    fn lines_keep_their_room_and_lose_nothing() {
        let text = "a rather long line of words, andaverylongonewithoutanyspacewhatever at its end";
        let lines = wrap(text, 60.0, 10.0, Weight::Regular);
        for line in &lines {
            assert!(width(line, 10.0, Weight::Regular) <= 60.0, "{line}");
        }
        let bare = |text: &str| text.replace(' ', "");
        assert_eq!(bare(&lines.concat()), bare(text));
        assert_eq!(cut("short", 60.0, 10.0, Weight::Regular), "short");
        assert!(cut(text, 60.0, 10.0, Weight::Regular).ends_with('…'));
    }
}
