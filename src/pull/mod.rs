//! The pull test: would this knot hold?
//!
//! ```text
//! notation -> lay (loose centreline) -> knot (settled, drawn tight, cut, let go) -> pull (loop drawn open) -> Pull
//! stitch of an attempt, as it is -> taken out of the tissue, its loop cut -----------/
//! centreline of a table, with the thread's state if it is kept there -----------/
//! notation -> thrown on the bench, end by end -> cut, let go -> centreline (tie)
//!                                                      material, varied -> samples (share that holds, Wilson) -/
//! ```
//!
//! Beside the way from scenario to report, like the experiments: it knows the thread's solver and the table of materials.

mod bench;
mod figure;
mod frame;
mod hands;
mod kept;
mod knot;
mod lay;
mod mesh;
mod notation;
mod outcome;
mod running;
mod samples;
mod shares;
mod stitch;
mod tabled;
mod test;
mod thrown;
mod tie;

pub use figure::{LINES_MAX, Line, figure};
pub use frame::{Frame, Look};
pub use kept::{Kept, tied_table};
pub use knot::{Fault, Knot};
pub use lay::{LAID_RADIUS, looped, pieces, resampled};
pub use mesh::{FINER, ORDER, mesh_error};
pub use notation::{NotationProblem, Throw, notation, parse};
pub use outcome::{End, Place, Point, Pull, SLIP_MAX};
pub use running::Running;
pub use samples::{Sample, Share, sample, thread, tying_thread, wilson};
pub use shares::{ShareRow, shares_figure};
pub use stitch::{TiedStitch, of_stitch, of_stitch_refined, of_stitch_watched};
pub use tabled::Tabled;
pub use test::{Test, edge_length, pull, pull_refined};
pub use thrown::Untied;
pub use tie::{Tied, throw, tie};
