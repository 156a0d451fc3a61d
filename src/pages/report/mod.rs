//! What a job looks like to a reader: one document, several renderers.
//!
//! Each page ([`suspects()`], [`next()`], [`why_cause`], [`card()`] …) turns answers into a [`Doc`]: a
//! title and a few kinds of block that hold plain text. [`text`] and [`markdown`] write a
//! document out; they alone make foreign text harmless. Nothing here computes a probability,
//! prints, or looks at a clock.

mod above;
mod balance;
mod bench;
mod card;
mod changed;
mod commission;
mod complaint;
mod corrected;
mod doc;
mod fault_tree;
pub mod figure;
mod fit;
mod glance;
mod heat;
pub mod html;
mod jobs;
mod journal;
mod limits;
mod local;
mod log;
mod log_manner;
pub mod markdown;
mod memory;
mod next;
pub mod pdf;
mod pictures;
mod plot;
pub mod probe;
mod readings;
mod screen;
mod search;
mod steps;
mod style;
mod suspects;
mod table;
pub mod terms;
mod testability;
pub mod text;
mod typed_lines;
mod vehicle;
mod verify;
mod watch;
mod why;
pub mod words;
mod workshop;
mod wrap;

#[cfg(test)]
mod answers;
#[cfg(test)]
mod properties;
#[cfg(test)]
mod sample;
#[cfg(test)]
mod snapshots;

pub use above::whereabouts;
pub use balance::{
    BalancePage, balance, balance_at_a_glance, barrier, foreseeing, reason, refused,
};
pub use bench::{Ahead, Given, bench};
pub use card::{Card, CardInput, Cause, Depth, Depths, End, Field, Letterhead, card};
pub use changed::{Before, after_exchange};
pub use commission::{
    CommissionInput, Commissioned, commission, commission_arguments, commission_at_a_glance,
    commission_sheet, commission_step, commission_troubles,
};
pub use complaint::about as complaint_about;
pub use corrected::no_longer_fits;
pub use doc::is_harmful;
pub use doc::{Align, Bar, Block, Doc, Image, NoticeKind, Photograph, Table, clean};
pub use facts::job::fit::EQUAL_DEPTH;
pub use fault_tree::{fault_tree, fault_trees};
pub use fit::{differences, fit};
pub use glance::{
    Known, Room, next_at_a_glance, step_at_a_glance, suspects_at_a_glance, verify_at_a_glance,
};
pub use heat::{compared, heat_line, heat_notice, no_temperatures};
pub use jobs::{JobAbout, JobLine, jobs};
pub use journal::{entry_text, journal};
pub use limits::{hindrance, limits, limits_at_a_glance, limits_csv};
pub use local::LocalTime;
pub use log::{LogPage, log, odd_one, seconds};
pub use memory::{memory, recalled};
pub use next::{next, sensitivity, within};
pub use pictures::course;
pub use screen::{LINES, cut, newest};
pub use search::{FoundLine, readings_before, search};
pub use steps::shell_word;
pub use steps::{commands, remedied, set_up, step, usual_point};
pub use style::Style;
pub use suspects::{UNEXPLAINED, suspects, verdict};
pub use testability::testability;
pub use typed_lines::arguments;
pub use vehicle::{came_back, comebacks, fitted_before, last_time, vehicle};
pub use verify::verify;
pub use watch::{watch_event, watch_form, watch_panel, watch_place, watch_reads, watch_state};
pub use why::{why_cause, why_test};
pub use workshop::{drilled, in_words, taken, truth, workshop};
pub use wrap::wrap;
