//! Knots and linking of centrelines: from points to crossings to invariants.
//!
//! ```text
//! points -> Shadow (crossings seen from one side) -> Diagram (Gauss code) -> simplified -> Invariants
//! ```
//!
//! Called by `analysis`; the hands' scripts read [`gauss_between`] live. Knows nothing of thread, tissue or throws in
//! time: everything here is a function of points. Numbers that decide what knot it is are integers, never floats.

pub mod alexander;
pub mod catalogue;
pub mod closure;
mod crossings;
pub mod diagram;
pub mod gauss;
pub mod invariants;
pub mod known;
mod modular;
pub mod projection;
pub mod signature;
pub mod untying;

pub use catalogue::HalfKnot;
pub use diagram::Diagram;
pub use gauss::{GaussTable, LedOn, Wound, gauss_between, winding_about_axis, writhe};
pub use invariants::Invariants;
pub use known::Known;
pub use projection::Shadow;
