//! The guided session on a page in the hand: requests judged, pages written.
//!
//! What is asked and what is entered comes from `session`; here a parked question becomes a page and a
//! form becomes an answer. Everything takes what it needs as an argument: it must not open sockets or
//! files, look at a clock, draw random numbers, or judge a job. `cli::serve` does the first three.

pub mod form;
pub mod gate;
pub mod keys;
pub mod limits;
pub mod live;
pub mod page;
pub mod parked;
pub mod qr;
pub mod reply;
pub mod request;
pub mod route;
pub mod upload;

pub use form::Form;
pub use gate::Gate;
pub use keys::{Admitted, Keys};
pub use parked::{Answer, Parked, Question};
pub use reply::Reply;
pub use request::Request;
pub use route::Route;
