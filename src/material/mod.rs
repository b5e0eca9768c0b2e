//! What sutures are made of: a table of materials with the source of every number, and what the thread needs of it.
//!
//! ```text
//! assets/materials.ron -> schema (the cells as written) -> check -> Table -> derive -> Material, with the rod's Section
//!                                                              \-> sheet (every cell laid out, for people)
//! ```
//!
//! The text is compiled in and read once; nothing here opens a file. [`find`] is what a simulation starts from,
//! [`sheet`] is what a reader looks up.

mod check;
mod derive;
pub mod schema;
mod sheet;
mod table;

pub use derive::{Material, Shares};
pub use schema::Table;
pub use sheet::{Amount, Row, Sheet, SizeRows};
pub use table::{find, find_varied, find_within, names, read, sheet, sizes, table};
