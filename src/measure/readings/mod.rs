//! Readings as numbers: whether they have settled, which one is out, which one drifts.
//!
//! Statistics on what displays showed, without the engine behind them. It must not name a cause,
//! nor read a file.

pub mod log;
pub mod outlier;
pub mod settle;
pub mod trend;
