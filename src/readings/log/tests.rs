//! Whole logs, from bytes to windows.

use super::*;
