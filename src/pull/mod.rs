//! The pull test: would this knot hold?
//!
//! ```text
//! notation -> lay (loose centreline) -> knot (settled, drawn tight, cut, let go) -> pull (loop drawn open) -> Pull
//! notation -> thrown on the bench, end by end -> let go, cut -> centreline (tie)
//!                                                      material, varied -> samples (share that holds, Wilson) -/
//! ```
//!
//! Beside the way from scenario to report, like the experiments: it knows the thread's solver and the table of materials.

mod bench;
mod knot;
mod lay;
mod notation;
mod outcome;
mod running;
mod samples;
mod test;
mod thrown;
mod tie;

pub use knot::{Fault, Knot};
pub use lay::{LAID_RADIUS, looped, pieces, resampled};
pub use notation::{NotationProblem, Throw, notation, parse};
pub use outcome::{End, Place, Point, Pull, SLIP_MAX};
pub use running::Running;
pub use samples::{Sample, Share, sample, thread, wilson};
pub use test::{Test, pull};
pub use thrown::Untied;
pub use tie::{throw, tie};
