//! The program from outside: every test runs the binary and looks at standard output,
//! standard error and exit status together.
//!
//! Only wiring is tested here; what an answer is worth is tested where it is made. Ids are
//! those of the built-in knowledge base.

mod before_work;
mod bench;
mod cards;
mod commission;
mod correcting;
mod cured;
mod entering;
mod every_page;
mod evidence;
mod files;
mod fit_plan;
mod fitting;
mod leaving;
mod logs;
mod memory;
mod normal;
mod opening;
mod own_points;
mod pages;
mod planning;
mod probing;
mod proof;
mod screen;
mod serve;
mod usage;
mod vehicle;
mod watch;
mod workshop;
mod writing;
mod wrong_entries;
