//! A file that a page sends: the parts of a `multipart/form-data` body.
//!
//! The name that a file had elsewhere is a word to be shown, never a path. It must not judge what is in a file.

use super::limits::PARTS;

/// The content of the part of a name, if there is one.
#[must_use]
pub fn part<'a>(kind: &str, body: &'a [u8], name: &str) -> Option<&'a [u8]> {
    whole(kind, body, name).map(|(_, content)| content)
}

/// Head and content of the part of a name.
fn whole<'a>(kind: &str, body: &'a [u8], name: &str) -> Option<(&'a [u8], &'a [u8])> {
    let boundary = boundary(kind)?;
    let line = format!("--{boundary}");
    let mut rest = after(body, line.as_bytes())?;
    let next = format!("\r\n--{boundary}");
    for _ in 0..PARTS {
        rest = rest.strip_prefix(b"\r\n")?;
        let head = before(rest, b"\r\n\r\n")?;
        let content = before(&rest[head.len() + 4..], next.as_bytes())?;
        if is_named(head, name) {
            return Some((head, content));
        }
        rest = &rest[head.len() + 4 + content.len() + next.len()..];
    }
    None
}

/// Characters of a name that are kept.
const NAME: usize = 80;

/// The name that the file of a part had where it comes from, without folders.
#[must_use]
pub fn file_name(kind: &str, body: &[u8], name: &str) -> Option<String> {
    let (head, _) = whole(kind, body, name)?;
    let head = String::from_utf8_lossy(head);
    let (_, after) = dispositions(&head).find_map(|line| line.split_once("filename=\""))?;
    let own = after.split('"').next()?.rsplit(['/', '\\']).next()?;
    let own: String = own.chars().filter(|c| !c.is_control()).take(NAME).collect();
    (!own.trim().is_empty()).then(|| own.trim().to_owned())
}

/// What parts the parts, as the sender chose it.
fn boundary(kind: &str) -> Option<&str> {
    let (kind, settings) = kind.split_once(';')?;
    if !kind.trim().eq_ignore_ascii_case("multipart/form-data") {
        return None;
    }
    let value = settings.split(';').find_map(|setting| setting.trim().strip_prefix("boundary="))?;
    let value = value.trim_matches('"');
    (1..=70).contains(&value.len()).then_some(value)
}

fn is_named(head: &[u8], name: &str) -> bool {
    let head = String::from_utf8_lossy(head);
    let wanted = format!("name=\"{name}\"");
    dispositions(&head).any(|line| line.split(';').any(|setting| setting.trim() == wanted))
}

/// The lines of a head that say what a part is.
fn dispositions(head: &str) -> impl Iterator<Item = &str> {
    head.lines().filter(|line| line.to_ascii_lowercase().starts_with("content-disposition:"))
}

fn position(text: &[u8], of: &[u8]) -> Option<usize> {
    memchr::memmem::find(text, of)
}

fn before<'a>(text: &'a [u8], mark: &[u8]) -> Option<&'a [u8]> {
    position(text, mark).map(|at| &text[..at])
}

fn after<'a>(text: &'a [u8], mark: &[u8]) -> Option<&'a [u8]> {
    position(text, mark).map(|at| &text[at + mark.len()..])
}

#[cfg(test)]
mod tests {
    use super::*;

    const KIND: &str = "multipart/form-data; boundary=----x9";

    fn body(name: &str, content: &str) -> String {
        format!(
            "------x9\r\nContent-Disposition: form-data; name=\"other\"\r\n\r\n1\r\n------x9\r\n\
             Content-Disposition: form-data; name=\"{name}\"; filename=\"../../etc/passwd\"\r\n\
             Content-Type: text/plain\r\n\r\n{content}\r\n------x9--\r\n"
        )
    }

    #[test]
    fn the_part_of_a_name_is_found_whatever_it_holds() {
        for content in ["", "(format: 8)", "a\r\n\r\nb", "\r\n--", "------x", "\0\u{1b}"] {
            let body = body("job", content);
            assert_eq!(part(KIND, body.as_bytes(), "job"), Some(content.as_bytes()), "{content:?}");
            assert_eq!(part(KIND, body.as_bytes(), "none"), None);
        }
    }

    #[test]
    fn the_name_of_a_file_is_a_word_and_no_path() {
        let named = |name: &str| {
            let body = body("log", "time;1").replace("../../etc/passwd", name);
            file_name(KIND, body.as_bytes(), "log")
        };
        assert_eq!(named("../../etc/passwd").as_deref(), Some("passwd"));
        assert_eq!(named("C:\\logs\\run 1.csv").as_deref(), Some("run 1.csv"));
        assert_eq!(named("").as_deref(), None);
        assert_eq!(named(&"x".repeat(500)).map(|name| name.len()), Some(NAME));
        assert_eq!(file_name(KIND, body("log", "").as_bytes(), "other"), None);
    }

    #[test]
    fn what_is_torn_or_none_is_nothing() {
        let body = body("job", "content");
        for cut in 0..body.len() - 6 {
            let found = part(KIND, &body.as_bytes()[..cut], "job");
            assert!(found.is_none() || found == Some(b"content"), "{cut}");
        }
        for kind in ["", "text/plain", "multipart/form-data", "multipart/form-data; boundary="] {
            assert_eq!(part(kind, body.as_bytes(), "job"), None, "{kind}");
        }
        let many = "------x9\r\n\r\n\r\n\r\n".repeat(1_000);
        assert_eq!(part(KIND, many.as_bytes(), "job"), None);
    }
}
