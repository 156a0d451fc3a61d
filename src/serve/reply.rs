//! What is sent back: a status, a body, and the headers that keep a page to itself.

use std::fmt::Write as _;

use sha2::{Digest, Sha256};

use measure::base64::base64;

/// What is sent back.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Reply {
    /// The status.
    pub status: u16,
    /// What the body is.
    pub kind: &'static str,
    /// The body.
    pub body: Vec<u8>,
    /// Where to go on.
    pub location: Option<&'static str>,
    /// What the browser is to keep, or to keep no longer.
    pub cookie: Option<String>,
    /// The name under which the body is to be kept as a file.
    pub file: Option<String>,
    /// Hashes of the style and the script that are in the page.
    pub allowed: String,
}

impl Reply {
    /// A page of ours.
    #[must_use]
    pub fn page(status: u16, page: String) -> Self {
        let allowed = super::page::allowed().to_owned();
        let kind = "text/html; charset=utf-8";
        Self { status, kind, body: page.into_bytes(), allowed, ..Self::default() }
    }

    /// A word.
    #[must_use]
    pub fn word(status: u16, word: &str) -> Self {
        let (kind, body) = ("text/plain; charset=utf-8", word.as_bytes().to_vec());
        Self { status, kind, body, ..Self::default() }
    }

    /// Go on there, by asking anew.
    #[must_use]
    pub fn on(location: &'static str) -> Self {
        Self { location: Some(location), ..Self::word(303, "") }
    }

    /// The head, to be sent before the body.
    #[must_use]
    pub fn head(&self) -> String {
        let mut head = format!(
            "HTTP/1.1 {} {}\r\nContent-Type: {}\r\nContent-Length: {}\r\nConnection: close\r\n\
             Cache-Control: no-store\r\nX-Content-Type-Options: nosniff\r\nX-Frame-Options: DENY\r\n\
             Referrer-Policy: same-origin\r\nCross-Origin-Opener-Policy: same-origin\r\n\
             Cross-Origin-Resource-Policy: same-origin\r\n\
             Permissions-Policy: geolocation=(), microphone=(), camera=()\r\n\
             Content-Security-Policy: default-src 'none'; img-src 'self' data:; connect-src 'self'; \
             form-action 'self'; base-uri 'none'; frame-ancestors 'none'{}\r\n",
            self.status,
            phrase(self.status),
            self.kind,
            self.body.len(),
            self.allowed,
        );
        if let Some(location) = self.location {
            let _ = write!(head, "Location: {location}\r\n");
        }
        if let Some(cookie) = &self.cookie {
            let _ = write!(head, "Set-Cookie: {cookie}; Path=/; HttpOnly; SameSite=Strict\r\n");
        }
        if let Some(name) = &self.file {
            let name = in_a_header(name);
            let _ = write!(head, "Content-Disposition: attachment; filename=\"{name}\"\r\n");
        }
        head.push_str("\r\n");
        head
    }
}

/// A name without what could end a header or a quote.
fn in_a_header(name: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_. ".contains(c);
    name.chars().map(|c| if plain(c) { c } else { '_' }).collect()
}

fn phrase(status: u16) -> &'static str {
    match status {
        200 => "OK",
        303 => "See Other",
        400 => "Bad Request",
        403 => "Forbidden",
        404 => "Not Found",
        405 => "Method Not Allowed",
        408 => "Request Timeout",
        409 => "Conflict",
        411 => "Length Required",
        413 => "Content Too Large",
        421 => "Misdirected Request",
        429 => "Too Many Requests",
        431 => "Request Header Fields Too Large",
        503 => "Service Unavailable",
        _ => "Error",
    }
}

/// The name by which a content policy knows a style or a script.
#[must_use]
pub fn hash(text: &str) -> String {
    format!("sha256-{}", base64(&Sha256::digest(text.as_bytes())))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hashes_are_as_browsers_have_them() {
        // `printf %s TEXT | openssl dgst -sha256 -binary | base64`
        assert_eq!(hash(""), "sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=");
        assert_eq!(hash("abc"), "sha256-ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0=");
    }

    #[test]
    fn no_name_ends_a_header() {
        let file = Some("van\r\nSet-Cookie: a=b\".ron".to_owned());
        let head = Reply { file, ..Reply::word(200, "") }.head();
        assert!(head.contains("filename=\"van__Set-Cookie_ a_b_.ron\"\r\n"), "{head}");
        assert_eq!(head.matches("\r\n\r\n").count(), 1);
        assert!(head.ends_with("\r\n\r\n"));
    }

    #[test]
    fn nothing_is_kept_framed_or_fetched_from_elsewhere() {
        let head = Reply::page(200, String::new()).head();
        for line in [
            "no-store",
            "nosniff",
            "default-src 'none'",
            "frame-ancestors 'none'",
            "style-src 'sha256-",
        ] {
            assert!(head.contains(line), "{line}");
        }
        assert!(!head.contains("unsafe"));
    }
}
