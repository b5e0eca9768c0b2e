//! Physics against published results; `SOURCES.md` beside this file lists them.

mod thread;
mod tissue;
