//! What a page sends back: fields of a form, or of the part of an address after `?`.

use super::limits::{FIELDS, LINE};

/// Fields in the order in which they came.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Form {
    fields: Vec<(String, String)>,
}

impl Form {
    /// Reads fields as browsers write them; what is no text comes as the sign for that.
    ///
    /// # Errors
    /// When there are more, or longer ones, than any page of ours sends.
    pub fn read(bytes: &[u8]) -> Result<Self, &'static str> {
        let mut form = Self::default();
        for field in bytes.split(|&byte| byte == b'&').filter(|field| !field.is_empty()) {
            if form.fields.len() == FIELDS {
                return Err("the form has more fields than any page here");
            }
            let at = field.iter().position(|&byte| byte == b'=').unwrap_or(field.len());
            let (name, value) = (&field[..at], field.get(at + 1..).unwrap_or_default());
            form.push(plain(name), plain(value))?;
        }
        Ok(form)
    }

    /// Adds a field.
    ///
    /// # Errors
    /// When it is longer than what can be typed.
    pub fn push(&mut self, name: String, value: String) -> Result<(), &'static str> {
        if name.chars().count() > LINE || value.chars().count() > LINE {
            return Err("a line is longer than what can be typed here");
        }
        self.fields.push((name, value));
        Ok(())
    }

    /// The first field of a name.
    #[must_use]
    pub fn one(&self, name: &str) -> Option<&str> {
        self.fields.iter().find(|(known, _)| known == name).map(|(_, value)| value.as_str())
    }

    /// All fields of a name.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.fields.iter().filter(move |(known, _)| known == name).map(|(_, value)| value.as_str())
    }
}

/// `+` is a space and `%xx` a byte; what only looks like it stays as it is.
fn plain(text: &[u8]) -> String {
    let digit = |byte: Option<&u8>| byte.and_then(|&byte| char::from(byte).to_digit(16));
    let mut bytes = Vec::with_capacity(text.len());
    let mut at = 0;
    while let Some(&byte) = text.get(at) {
        at += 1;
        match byte {
            b'+' => bytes.push(b' '),
            b'%' => match (digit(text.get(at)), digit(text.get(at + 1))) {
                (Some(high), Some(low)) => {
                    bytes.push(u8::try_from(high * 16 + low).unwrap_or(b'?'));
                    at += 2;
                }
                _ => bytes.push(byte),
            },
            _ => bytes.push(byte),
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_are_read_as_browsers_write_them() {
        let form =
            Form::read(b"line=512+505%2C5+%C2%B0C&n=3&n=4&empty=&bare&%zz=%").expect("a form");
        assert_eq!(form.one("line"), Some("512 505,5 °C"));
        assert_eq!(form.all("n").collect::<Vec<_>>(), ["3", "4"]);
        assert_eq!(
            (form.one("empty"), form.one("bare"), form.one("none")),
            (Some(""), Some(""), None)
        );
        assert_eq!(form.one("%zz"), Some("%"));
        assert_eq!(Form::read(b"").expect("a form"), Form::default());
    }

    #[test]
    fn what_is_no_text_is_no_danger() {
        let form = Form::read(b"a=%ff%fe%00&b=<script>").expect("a form");
        assert_eq!(form.one("a"), Some("\u{fffd}\u{fffd}\0"));
        assert_eq!(form.one("b"), Some("<script>"));
    }

    #[test]
    fn fields_are_bounded() {
        assert!(Form::read("a=1&".repeat(FIELDS).as_bytes()).is_ok());
        assert!(Form::read("a=1&".repeat(FIELDS + 1).as_bytes()).is_err());
        assert!(Form::read(format!("a={}", "x".repeat(LINE + 1)).as_bytes()).is_err());
    }
}
