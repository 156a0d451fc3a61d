//! The measuring chain against the outside: published tables, handbook examples, and values
//! recorded from other programs by `tests/reference/physics_check.py`.
//!
//! One file a topic. A test here states a number from elsewhere and where it is from; what follows
//! from our own definitions is tested beside the code.

mod circuit;
mod cycle;
mod effects;
mod explain;
mod healthy;
mod held;
mod outlier;
mod probe;
mod settle;
mod support;
mod thermocouple;
mod vehicle;
