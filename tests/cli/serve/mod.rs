//! `serve`: a whole job over loopback without a browser, several at one job, and strangers.

mod client;
mod hostile;
mod live;
mod logs;
mod photos;
mod together;
mod whole;
