//! Physics against published results; `SOURCES.md` beside this file lists them.

mod experiments;
mod materials;
mod thread;
mod tissue;
