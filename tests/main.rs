//! Checks from outside, in one binary.

mod physics;
