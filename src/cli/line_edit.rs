//! A line of text being typed: what each key does to it, and how it lies in the rows of a terminal.
//!
//! Pure. The keys are those of shells. It must not read keys or draw.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use unicode_width::UnicodeWidthChar;

/// A line with a cursor in it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Edited {
    text: Vec<char>,
    /// Characters before the cursor.
    at: usize,
    /// What was last cut out.
    cut: Vec<char>,
    /// The greatest number that the line may hold, if it is one of numbers.
    most: Option<u32>,
}

/// What a key came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Done {
    /// The line goes on.
    Not,
    /// Enter.
    Taken,
    /// One step back.
    Back,
    /// Out of it.
    Left,
}

impl Edited {
    /// A line that has a text already, the cursor behind it.
    pub(super) fn new(text: &str) -> Self {
        let text: Vec<char> = text.chars().collect();
        Self { at: text.len(), text, ..Self::default() }
    }

    /// The same for a line of numbers up to so many: a digit that would make a greater one begins the next.
    pub(super) fn numbers(self, most: u32) -> Self {
        Self { most: Some(most).filter(|most| *most > 0), ..self }
    }

    /// The whole line.
    pub(super) fn text(&self) -> String {
        self.text.iter().collect()
    }

    /// What stands before the cursor.
    pub(super) fn before(&self) -> String {
        self.text[..self.at].iter().collect()
    }

    /// Takes one key.
    pub(super) fn key(&mut self, key: KeyEvent) -> Done {
        let control = key.modifiers.contains(KeyModifiers::CONTROL);
        let alt = key.modifiers.contains(KeyModifiers::ALT);
        match key.code {
            KeyCode::Enter => return Done::Taken,
            KeyCode::Esc => return Done::Back,
            KeyCode::Char('c') if control => return Done::Left,
            KeyCode::Char('g') if control => return Done::Back,
            KeyCode::Char('j' | 'm') if control => return Done::Taken,
            KeyCode::Char('d') if control && self.text.is_empty() => return Done::Back,
            KeyCode::Char('a') if control => self.at = 0,
            KeyCode::Char('e') if control => self.at = self.text.len(),
            KeyCode::Char('b') if control => self.at = self.at.saturating_sub(1),
            KeyCode::Char('f') if control => self.at = (self.at + 1).min(self.text.len()),
            KeyCode::Char('h') if control => {
                self.cut_out(self.at.saturating_sub(1), self.at, false);
            }
            KeyCode::Char('d') if control => self.cut_out(self.at, self.at + 1, false),
            KeyCode::Char('u') if control => self.cut_out(0, self.at, true),
            KeyCode::Char('k') if control => self.cut_out(self.at, self.text.len(), true),
            KeyCode::Char('w') if control => self.cut_out(self.word_before(false), self.at, true),
            KeyCode::Char('y') if control => {
                for c in self.cut.clone() {
                    self.put(c);
                }
            }
            KeyCode::Char('b') if alt => self.at = self.word_before(true),
            KeyCode::Char('f') if alt => self.at = self.word_after(),
            KeyCode::Char('d') if alt => self.cut_out(self.at, self.word_after(), true),
            KeyCode::Backspace if alt || control => {
                self.cut_out(self.word_before(true), self.at, true);
            }
            KeyCode::Left if alt || control => self.at = self.word_before(true),
            KeyCode::Right if alt || control => self.at = self.word_after(),
            KeyCode::Delete if alt || control => self.cut_out(self.at, self.word_after(), true),
            KeyCode::Left => self.at = self.at.saturating_sub(1),
            KeyCode::Right => self.at = (self.at + 1).min(self.text.len()),
            KeyCode::Home => self.at = 0,
            KeyCode::End => self.at = self.text.len(),
            KeyCode::Backspace => self.cut_out(self.at.saturating_sub(1), self.at, false),
            KeyCode::Delete => self.cut_out(self.at, self.at + 1, false),
            // A tab parts values like a space, and has no width of its own.
            KeyCode::Tab => self.put(' '),
            KeyCode::Char(c) if !control && !alt && !c.is_control() => {
                if self.begins_anew(c) {
                    self.put(' ');
                }
                self.put(c);
            }
            _ => {}
        }
        Done::Not
    }

    /// Whether a digit at the end of the line can only belong to a number of its own.
    fn begins_anew(&self, c: char) -> bool {
        let Some(most) = self.most.filter(|_| c.is_ascii_digit() && self.at == self.text.len())
        else {
            return false;
        };
        let number = self.text[self.word_before(false)..].iter().collect::<String>();
        // Whatever else stands there, a sign or a point, is for the person to part.
        let digits = !number.is_empty() && number.chars().all(|c| c.is_ascii_digit());
        digits && format!("{number}{c}").parse::<u32>().is_ok_and(|with| with > most)
    }

    fn put(&mut self, c: char) {
        self.text.insert(self.at, c);
        self.at += 1;
    }

    fn cut_out(&mut self, from: usize, to: usize, keep: bool) {
        let to = to.min(self.text.len());
        if from >= to {
            return;
        }
        let cut: Vec<char> = self.text.drain(from..to).collect();
        self.at = from;
        if keep {
            self.cut = cut;
        }
    }

    /// Where the word before the cursor begins: of letters and figures, or of all but spaces.
    fn word_before(&self, letters: bool) -> usize {
        let word = |c: &char| if letters { c.is_alphanumeric() } else { !c.is_whitespace() };
        let mut at = self.at;
        while at > 0 && !word(&self.text[at - 1]) {
            at -= 1;
        }
        while at > 0 && word(&self.text[at - 1]) {
            at -= 1;
        }
        at
    }

    /// Where the word behind the cursor ends.
    fn word_after(&self) -> usize {
        let mut at = self.at;
        while at < self.text.len() && !self.text[at].is_alphanumeric() {
            at += 1;
        }
        while at < self.text.len() && self.text[at].is_alphanumeric() {
            at += 1;
        }
        at
    }
}

/// A text in rows of so many cells, and the row and cell behind its last character.
pub(super) fn rows(text: &str, width: usize) -> (Vec<String>, (usize, usize)) {
    let width = width.max(2);
    let mut rows = vec![String::new()];
    let mut used = 0;
    for c in text.chars() {
        let cells = c.width().unwrap_or(0);
        if used + cells > width {
            rows.push(String::new());
            used = 0;
        }
        used += cells;
        if let Some(row) = rows.last_mut() {
            row.push(c);
        }
    }
    // A full row leaves the cursor no cell of its own.
    if used == width {
        rows.push(String::new());
        used = 0;
    }
    let last = rows.len() - 1;
    (rows, (last, used))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn control(c: char) -> KeyEvent {
        KeyEvent::new(KeyCode::Char(c), KeyModifiers::CONTROL)
    }

    fn plain(code: KeyCode) -> KeyEvent {
        KeyEvent::new(code, KeyModifiers::NONE)
    }

    fn after(text: &str, keys: &[KeyEvent]) -> (String, usize) {
        let mut line = Edited::new(text);
        for key in keys {
            assert_eq!(line.key(*key), Done::Not);
        }
        (line.text(), line.at)
    }

    #[test]
    fn keys_do_what_they_do_in_a_shell() {
        let x = plain(KeyCode::Char('x'));
        let cases: [(&str, Vec<KeyEvent>, &str, usize); 14] = [
            ("512 505", vec![control('u')], "", 0),
            ("512 505", vec![control('a'), x], "x512 505", 1),
            ("512 505", vec![control('a'), control('e'), x], "512 505x", 8),
            ("512 505", vec![control('w')], "512 ", 4),
            ("512 480..510 ", vec![control('w')], "512 ", 4),
            ("512 505", vec![control('a'), control('k')], "", 0),
            ("512 505", vec![control('w'), control('k'), control('y')], "512 505", 7),
            ("512", vec![plain(KeyCode::Home), plain(KeyCode::Delete)], "12", 0),
            ("512", vec![plain(KeyCode::Left), control('u')], "2", 0),
            ("512", vec![plain(KeyCode::Left), plain(KeyCode::Backspace)], "52", 1),
            ("512", vec![plain(KeyCode::Home), plain(KeyCode::End), x], "512x", 4),
            ("512", vec![plain(KeyCode::Right), plain(KeyCode::Up), control('l')], "512", 3),
            ("é ü", vec![control('h'), control('b'), control('d')], "é", 1),
            ("512\u{20}", vec![plain(KeyCode::Tab), x], "512  x", 6),
        ];
        for (text, keys, expected, at) in cases {
            assert_eq!(after(text, &keys), (expected.to_owned(), at), "{text} {keys:?}");
        }
        let mut line = Edited::new("");
        assert_eq!(line.key(plain(KeyCode::Enter)), Done::Taken);
        assert_eq!(line.key(plain(KeyCode::Esc)), Done::Back);
        assert_eq!(line.key(control('d')), Done::Back);
        assert_eq!(line.key(control('c')), Done::Left);
    }

    #[test]
    fn numbers_part_themselves_where_a_digit_more_could_not_be() {
        let typed = |keys: &str, most| {
            let mut line = Edited::new("").numbers(most);
            for c in keys.chars() {
                line.key(plain(KeyCode::Char(c)));
            }
            line.text()
        };
        for (keys, most, text) in [
            ("492504431507", 1820, "492 504 431 507"),
            ("492 504 431 507", 1820, "492 504 431 507"),
            ("1012954998", 1820, "1012 954 998"),
            // 120 could become 1205: only a person can tell.
            ("120130", 1820, "1201 30"),
            ("120 130", 1820, "120 130"),
            ("954940", 3308, "954 940"),
            ("9549401205", 3308, "954 940 1205"),
            // What is no plain number is left alone.
            ("492.55", 1820, "492.55"),
            ("480..510", 1820, "480..510"),
            ("open492504", 1820, "open492504"),
            ("-4555", 1820, "-4555"),
            ("T1=5121", 1820, "T1=5121"),
            ("4925", 0, "4925"),
        ] {
            assert_eq!(typed(keys, most), text, "{keys}");
        }
        // A digit put into a number that stands there already parts nothing.
        let mut line = Edited::new("412").numbers(1820);
        line.key(plain(KeyCode::Home));
        line.key(plain(KeyCode::Char('9')));
        assert_eq!(line.text(), "9412");
        // Rubbing out goes one sign a key, as anywhere.
        let mut line = Edited::new("492").numbers(1820);
        line.key(plain(KeyCode::Char('5')));
        line.key(plain(KeyCode::Backspace));
        assert_eq!(line.text(), "492 ");
    }

    #[test]
    fn a_line_lies_in_rows() {
        let row = |text: &str| rows(text, 4);
        assert_eq!(row("abc"), (vec!["abc".to_owned()], (0, 3)));
        assert_eq!(row("abcd"), (vec!["abcd".to_owned(), String::new()], (1, 0)));
        assert_eq!(row("abcde"), (vec!["abcd".to_owned(), "e".to_owned()], (1, 1)));
        assert_eq!(row("ab漢漢"), (vec!["ab漢".to_owned(), "漢".to_owned()], (1, 2)));
    }

    proptest! {
        #[test]
        fn no_keys_bring_it_down(
            text in ".{0,20}", keys in proptest::collection::vec((0_usize..20, 0_u8..8), 0..60),
        ) {
            let codes = [
                KeyCode::Char('a'), KeyCode::Char('e'), KeyCode::Char('u'), KeyCode::Char('k'),
                KeyCode::Char('w'), KeyCode::Char('y'), KeyCode::Char('d'), KeyCode::Char('h'),
                KeyCode::Char('b'), KeyCode::Char('f'), KeyCode::Left, KeyCode::Right,
                KeyCode::Home, KeyCode::End, KeyCode::Backspace, KeyCode::Delete,
                KeyCode::Tab, KeyCode::Up, KeyCode::Char('漢'), KeyCode::F(1),
            ];
            let mut line = Edited::new(&text);
            for (code, modifiers) in keys {
                let modifiers = KeyModifiers::from_bits_truncate(modifiers);
                line.key(KeyEvent::new(codes[code], modifiers));
                prop_assert!(line.at <= line.text.len());
                prop_assert!(line.text().starts_with(&line.before()));
            }
        }
    }
}
