//! How much a stranger, or a device that went astray, can ask of the page.
//!
//! Each bound is far above what a workshop needs and far below what could hurt the computer.

use std::time::Duration;

/// Bytes of a request's line and headers.
pub const HEAD: usize = 16 * 1024;
/// Headers of a request.
pub const HEADERS: usize = 48;
/// Bytes of a form.
pub const FORM: usize = 64 * 1024;
/// Bytes of a job that is taken in; a job of a thousand entries has a fifth of it.
pub const JOB: usize = 2 * 1024 * 1024;
/// Bytes of a photo, with what the form has around it.
pub const PHOTO: usize = pages::photo::LARGEST + 4 * 1024;
/// Bytes of a log that is taken in, with what the form has around it: a row a second of twelve displays for a day.
pub const LOG: usize = 16 * 1024 * 1024;
/// Fields of a form: a line has two for each display, and no engine has more than some dozens.
pub const FIELDS: usize = 256;
/// Parts of an upload.
pub const PARTS: usize = 8;
/// Characters of a line that is typed.
pub const LINE: usize = 2_000;
/// From the first byte of a request until it must be whole.
pub const WHOLE: Duration = Duration::from_secs(8);
/// The same for a body that is larger than a form.
pub const WHOLE_UPLOAD: Duration = Duration::from_secs(30);
/// Until an answer must have been taken.
pub const TAKEN: Duration = Duration::from_secs(10);
/// Connections at a time.
pub const CONNECTIONS: usize = 48;
/// Connections at a time from one address that is not this computer.
pub const OF_ONE: usize = 12;
/// Sessions at a time.
pub const SESSIONS: usize = 8;
/// Devices that were let in.
pub const DEVICES: usize = 16;
/// Without use for so long a device is let in no more, s.
pub const DEVICE_IDLE: u64 = 12 * 3600;
/// Wrong keys of one address, and of all together, in [`TRIES_WITHIN`].
pub const TRIES: u32 = 8;
/// See [`TRIES`].
pub const TRIES_OF_ALL: u32 = 100;
/// In which wrong keys are counted, s.
pub const TRIES_WITHIN: u64 = 60;
/// Requests at a time that wait for something new of an engine that runs; more are answered at once.
pub const WATCHING: usize = 24;
/// Until one that waits is answered all the same.
pub const NEWS: Duration = Duration::from_secs(4);
/// Between two pictures of an engine that runs. What is more than a row is told at once.
pub const PICTURE: Duration = Duration::from_millis(250);
/// Until a page that waits for the session says that it is still working.
pub const PATIENCE: Duration = Duration::from_secs(20);
