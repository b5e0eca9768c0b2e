//! What a recorded or running stitch is, read from its state alone.

pub mod reading;
