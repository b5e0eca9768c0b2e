//! The tests that use the library from outside, in one binary: it links once.

mod replay;
mod tidy;
