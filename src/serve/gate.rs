//! Under which names the page is asked for, and whose pages may post to it.
//!
//! A page elsewhere can make a browser send requests here: under a name that was made to lead to this
//! computer, or by posting from afar. The first has another Host, the second another Origin.

/// The names under which the page is there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gate {
    hosts: Vec<String>,
}

impl Gate {
    /// A gate for names with their ports, as `127.0.0.1:8137`.
    #[must_use]
    pub fn new(hosts: impl IntoIterator<Item = String>) -> Self {
        Self { hosts: hosts.into_iter().map(|host| host.to_ascii_lowercase()).collect() }
    }

    /// Whether it was asked for under one of its names.
    #[must_use]
    pub fn host(&self, host: Option<&str>) -> bool {
        host.is_some_and(|host| self.hosts.contains(&host.to_ascii_lowercase()))
    }

    /// Whether a post comes from a page of ours: from the very name under which it was asked for.
    #[must_use]
    pub fn origin(&self, origin: Option<&str>, host: Option<&str>) -> bool {
        let from = origin.and_then(|origin| origin.strip_prefix("http://"));
        self.host(host)
            && from.zip(host).is_some_and(|(from, host)| from.eq_ignore_ascii_case(host))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_its_own_names_lead_in() {
        let gate = Gate::new(["127.0.0.1:8137".to_owned(), "localhost:8137".to_owned()]);
        for good in ["127.0.0.1:8137", "localhost:8137", "LocalHost:8137"] {
            assert!(gate.host(Some(good)), "{good}");
        }
        for bad in
            ["127.0.0.1", "127.0.0.1:80", "evil.example:8137", "localhost:8137.evil.example", ""]
        {
            assert!(!gate.host(Some(bad)), "{bad}");
        }
        assert!(!gate.host(None));
    }

    #[test]
    fn only_its_own_pages_post() {
        let gate = Gate::new(["127.0.0.1:8137".to_owned(), "localhost:8137".to_owned()]);
        let host = Some("127.0.0.1:8137");
        assert!(gate.origin(Some("http://127.0.0.1:8137"), host));
        for bad in [
            Some("http://localhost:8137"),
            Some("https://127.0.0.1:8137"),
            Some("http://127.0.0.1:9999"),
            Some("http://evil.example"),
            Some("null"),
            Some(""),
            None,
        ] {
            assert!(!gate.origin(bad, host), "{bad:?}");
        }
        assert!(!gate.origin(Some("http://evil.example:8137"), Some("evil.example:8137")));
    }
}
