//! What is shown: one document for each answer, and its forms as text, Markdown, HTML, SVG and PDF.
//!
//! It must not judge or read anything but what it is handed.

pub mod photo;
pub mod report;
