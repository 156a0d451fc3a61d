//! Readings as numbers: whether they have settled, and which one is out.
//!
//! Statistics on what displays showed, without the engine behind them. It must not name a cause,
//! nor read a file.

pub mod log;
pub mod outlier;
pub mod settle;
