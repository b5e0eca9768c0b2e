//! Physics against published results; `SOURCES.md` beside this file lists them.

mod materials;
mod thread;
mod tissue;
