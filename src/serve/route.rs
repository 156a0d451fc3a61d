//! What is asked for: a closed list, in which no word of a request becomes a path of the computer.

use super::form::Form;
use super::page::live::On;

/// What a request asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Route {
    /// The question as it stands; options that have a word, where one is searched.
    Page {
        /// The word.
        find: String,
    },
    /// Whether anything has changed.
    Poll {
        /// The number of the question that the page shows.
        question: u64,
    },
    /// The way in: a page on which a key is traded by a press.
    Door {
        /// The key.
        key: String,
    },
    /// A key is traded.
    Key,
    /// A session is begun.
    Begin,
    /// A question is answered.
    Answer,
    /// Others have entered something: back to where the job stands.
    Anew,
    /// The session is ended.
    End,
    /// The device is let in no more.
    Forget,
    /// The card of the job.
    Card,
    /// The job as one file.
    File,
    /// The page to take in a job.
    TakeInPage,
    /// A job is taken in.
    TakeIn,
    /// The photos of the job, and the form to keep another.
    Photos,
    /// One of them.
    Photo {
        /// The entry that it is beside.
        entry: usize,
        /// Which of that entry.
        number: u32,
    },
    /// A photo is kept.
    KeepPhoto,
    /// The engine that runs: its displays, and what has settled.
    Live,
    /// The same in parts for a page that has it, once there is something new.
    Now {
        /// What was said up to then, by its count.
        news: u64,
        /// The last row that the page shows.
        row: u64,
        /// Which page it is.
        on: On,
    },
    /// Readings that have settled are entered.
    Enter,
    /// What led to a stop, as a file.
    Led,
    /// The page to take in a log.
    LogPage,
    /// A log is read, and what has settled in it entered.
    TakeLog,
    /// The page to let another device in.
    InvitePage,
    /// A key for another device.
    Invite,
    /// There is no such thing.
    Nothing,
    /// It is there, but not to be asked for so.
    OtherMethod,
}

/// Reads the method and the target of a request.
#[must_use]
pub fn route(method: &str, target: &str) -> Route {
    let (path, query) = target.split_once('?').unwrap_or((target, ""));
    let query = || Form::read(query.as_bytes()).unwrap_or_default();
    let known = match path {
        "/" => {
            Some(("GET", Route::Page { find: query().one("find").unwrap_or_default().to_owned() }))
        }
        "/poll" => {
            let number = query().one("n").and_then(|n| n.parse().ok()).unwrap_or(0);
            Some(("GET", Route::Poll { question: number }))
        }
        "/in" if method == "POST" => Some(("POST", Route::Key)),
        "/in" => {
            Some(("GET", Route::Door { key: query().one("key").unwrap_or_default().to_owned() }))
        }
        "/begin" => Some(("POST", Route::Begin)),
        "/answer" => Some(("POST", Route::Answer)),
        "/anew" => Some(("POST", Route::Anew)),
        "/end" => Some(("POST", Route::End)),
        "/forget" => Some(("POST", Route::Forget)),
        "/card" => Some(("GET", Route::Card)),
        "/job.ron" => Some(("GET", Route::File)),
        "/take-in" if method == "POST" => Some(("POST", Route::TakeIn)),
        "/take-in" => Some(("GET", Route::TakeInPage)),
        "/photos" if method == "POST" => Some(("POST", Route::KeepPhoto)),
        "/photos" => Some(("GET", Route::Photos)),
        "/log" if method == "POST" => Some(("POST", Route::TakeLog)),
        "/log" => Some(("GET", Route::LogPage)),
        "/photo" => {
            let query = query();
            let entry = query.one("e").and_then(|e| e.parse().ok()).unwrap_or(0);
            let number = query.one("n").and_then(|n| n.parse().ok()).unwrap_or(0);
            Some(("GET", Route::Photo { entry, number }))
        }
        "/live" => Some(("GET", Route::Live)),
        "/now" => {
            let query = query();
            let count = |name| query.one(name).and_then(|n| n.parse().ok()).unwrap_or(0);
            let on = On::read(query.one("on").unwrap_or_default());
            Some(("GET", Route::Now { news: count("news"), row: count("row"), on }))
        }
        "/enter" => Some(("POST", Route::Enter)),
        "/stop.csv" => Some(("GET", Route::Led)),
        "/invite" if method == "POST" => Some(("POST", Route::Invite)),
        "/invite" => Some(("GET", Route::InvitePage)),
        _ => None,
    };
    match known {
        Some((needed, route)) if needed == method => route,
        Some(_) => Route::OtherMethod,
        None => Route::Nothing,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_listed_is_there() {
        assert_eq!(route("GET", "/"), Route::Page { find: String::new() });
        assert_eq!(route("GET", "/?find=lead+wire"), Route::Page { find: "lead wire".to_owned() });
        assert_eq!(route("GET", "/poll?n=12&x=1"), Route::Poll { question: 12 });
        assert_eq!(route("GET", "/in?key=abc"), Route::Door { key: "abc".to_owned() });
        assert_eq!(route("POST", "/in"), Route::Key);
        assert_eq!(route("GET", "/photo?e=3&n=1"), Route::Photo { entry: 3, number: 1 });
        assert_eq!(route("GET", "/photo?e=../3&n=-1"), Route::Photo { entry: 0, number: 0 });
        let now = Route::Now { news: 3, row: 0, on: On::Job };
        assert_eq!(route("GET", "/now?news=3&row=-1&on=job"), now);
        assert_eq!(route("GET", "/enter"), Route::OtherMethod);
        assert_eq!(route("GET", "/answer"), Route::OtherMethod);
        assert_eq!(route("POST", "/"), Route::OtherMethod);
        assert_eq!(route("HEAD", "/"), Route::OtherMethod);
        for strange in [
            "/../etc/passwd",
            "/%2e%2e/%2e%2e/etc/passwd",
            "/jobs/van.ron",
            "//evil.example/",
            "http://127.0.0.1/",
            "/card/../job.ron",
            "/job.ron/",
            "*",
            "",
        ] {
            assert_eq!(route("GET", strange), Route::Nothing, "{strange}");
        }
    }
}
