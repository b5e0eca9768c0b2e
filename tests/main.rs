//! Integration tests, one module a part.

mod topology;
