//! Physics against published results; `SOURCES.md` beside this file lists them.

mod experiments;
mod materials;
mod slow;
mod thread;
mod tissue;
