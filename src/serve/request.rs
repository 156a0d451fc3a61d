//! A request, from bytes that may be anything.
//!
//! Only what is needed is taken: the method, the target, six headers, the length of the body. What is
//! unclear is refused, for two readers that differ are how requests are smuggled.

use super::limits::{FORM, HEAD, HEADERS, JOB, LOG, PHOTO};
use super::route::{Route, route};

/// The line and the headers of a request.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Request {
    /// What is asked for.
    pub route: Route,
    /// Whether it may change anything.
    pub posts: bool,
    /// Under which name.
    pub host: Option<String>,
    /// From whose page.
    pub origin: Option<String>,
    /// Everything that the browser keeps for this name.
    pub cookie: String,
    /// What the body is.
    pub kind: String,
    /// Bytes of the body.
    pub length: usize,
    /// The sender waits for a word before it sends the body.
    pub waits: bool,
}

/// Why a request cannot be answered; the status says the rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refused {
    /// It is none.
    Bad,
    /// The head is too long.
    HeadTooLong,
    /// The body is too long.
    BodyTooLong,
    /// The body has no length.
    NoLength,
}

impl Refused {
    /// The status that says so.
    #[must_use]
    pub fn status(self) -> u16 {
        match self {
            Self::Bad => 400,
            Self::HeadTooLong => 431,
            Self::BodyTooLong => 413,
            Self::NoLength => 411,
        }
    }
}

impl Request {
    /// Reads a head: where the body begins, or `None` while more is to come.
    ///
    /// # Errors
    /// When it is no request that can be answered.
    pub fn read(bytes: &[u8]) -> Result<Option<(Self, usize)>, Refused> {
        let mut headers = [httparse::EMPTY_HEADER; HEADERS];
        let mut head = httparse::Request::new(&mut headers);
        let begins = match head.parse(bytes) {
            Ok(httparse::Status::Complete(at)) => at,
            Ok(httparse::Status::Partial) if bytes.len() < HEAD => return Ok(None),
            Ok(httparse::Status::Partial) | Err(httparse::Error::TooManyHeaders) => {
                return Err(Refused::HeadTooLong);
            }
            Err(_) => return Err(Refused::Bad),
        };
        if begins > HEAD {
            return Err(Refused::HeadTooLong);
        }
        let (method, target) = (head.method.unwrap_or_default(), head.path.unwrap_or_default());
        let header = |name: &str| -> Result<Option<String>, Refused> {
            let mut found = head.headers.iter().filter(|h| h.name.eq_ignore_ascii_case(name));
            let first = found.next();
            if found.next().is_some() {
                return Err(Refused::Bad);
            }
            let text = |header: &httparse::Header<'_>| {
                std::str::from_utf8(header.value).map(|text| text.trim().to_owned())
            };
            first.map(text).transpose().map_err(|_| Refused::Bad)
        };
        // No browser posts a form so, and no length could be held against it.
        if header("transfer-encoding")?.is_some() {
            return Err(Refused::NoLength);
        }
        let posts = method == "POST";
        let length = match header("content-length")? {
            // A sign would be read as well.
            Some(text) if text.bytes().all(|byte| byte.is_ascii_digit()) => {
                text.parse().map_err(|_| Refused::BodyTooLong)?
            }
            Some(_) => return Err(Refused::Bad),
            None if posts => return Err(Refused::NoLength),
            None => 0,
        };
        let route = route(method, target);
        let most = match route {
            Route::TakeIn => JOB,
            Route::KeepPhoto => PHOTO,
            Route::TakeLog => LOG,
            _ if posts => FORM,
            _ => 0,
        };
        if length > most {
            return Err(Refused::BodyTooLong);
        }
        let request = Self {
            route,
            posts,
            host: header("host")?,
            origin: header("origin")?,
            cookie: header("cookie")?.unwrap_or_default(),
            kind: header("content-type")?.unwrap_or_default(),
            length,
            waits: header("expect")?.is_some(),
        };
        Ok(Some((request, begins)))
    }

    /// The value of a cookie.
    #[must_use]
    pub fn kept(&self, name: &str) -> Option<&str> {
        self.cookie
            .split(';')
            .filter_map(|pair| pair.trim().split_once('='))
            .find_map(|(known, value)| (known == name).then_some(value))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Option<(Request, usize)>, Refused> {
        Request::read(text.as_bytes())
    }

    #[test]
    fn a_request_is_read_when_it_is_whole() {
        let text = "POST /answer HTTP/1.1\r\nHost: localhost:8137\r\nContent-Length: 9\r\n\
                    Cookie: a=b; oddpot-8137=0f; c=d\r\n\r\nchoice=01";
        let whole = text.find("choice").expect("a body");
        for cut in 0..whole {
            assert_eq!(read(&text[..cut]), Ok(None), "{cut}");
        }
        let (request, begins) = read(text).expect("a request").expect("whole");
        assert_eq!(
            (request.route.clone(), request.posts, request.length),
            (Route::Answer, true, 9)
        );
        assert_eq!(&text[begins..], "choice=01");
        assert_eq!(request.kept("oddpot-8137"), Some("0f"));
        assert_eq!(request.kept("oddpot"), None);
        assert_eq!(request.host.as_deref(), Some("localhost:8137"));
    }

    #[test]
    fn what_is_unclear_or_too_much_is_refused() {
        let post = |headers: &str| read(&format!("POST /answer HTTP/1.1\r\n{headers}\r\n"));
        for (headers, refused) in [
            ("", Refused::NoLength),
            ("Content-Length: -1\r\n", Refused::Bad),
            ("Content-Length: +1\r\n", Refused::Bad),
            ("Content-Length: 1\r\nContent-Length: 2\r\n", Refused::Bad),
            ("Host: a\r\nHost: b\r\nContent-Length: 0\r\n", Refused::Bad),
            ("Content-Length: 65537\r\n", Refused::BodyTooLong),
            ("Content-Length: 99999999999999999999\r\n", Refused::BodyTooLong),
            ("Transfer-Encoding: chunked\r\n", Refused::NoLength),
            ("Content-Length: 3\r\nTransfer-Encoding: chunked\r\n", Refused::NoLength),
        ] {
            assert_eq!(post(headers), Err(refused), "{headers}");
        }
        assert_eq!(read("GET / HTTP/1.1\r\nContent-Length: 1\r\n\r\n"), Err(Refused::BodyTooLong));
        assert_eq!(read("\u{0}\u{1}\r\n\r\n"), Err(Refused::Bad));
        let many = "x: y\r\n".repeat(HEADERS + 1);
        assert_eq!(post(&many), Err(Refused::HeadTooLong));
        let long = format!("GET /{} HTTP/1.1\r\n\r\n", "a".repeat(HEAD));
        assert_eq!(read(&long), Err(Refused::HeadTooLong));
        assert_eq!(read(&long[..HEAD]), Err(Refused::HeadTooLong));
    }
}
