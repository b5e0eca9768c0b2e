//! Arguments in, library, exit code out.

fn main() {}
