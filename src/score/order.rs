//! What the operator was asked to do.

use serde::{Deserialize, Serialize};

use crate::analysis::findings::{Direction, Side};
use crate::tooth::Tooth;

/// The task of a case, as far as marks depend on it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TaskOrder {
    /// The tooth whose site it is.
    pub tooth: Tooth,
    /// Stitches to place.
    pub stitches: u32,
    /// Throws of each stitch's knot, in order.
    pub throws: Vec<OrderedThrow>,
    /// The side of the wound on which each knot shall lie.
    pub knot_side: Side,
    /// Distance of a bite from the flap's edge [mm].
    pub bite_mm: Span,
    /// Length of a cut end [mm].
    pub tail_mm: Span,
    /// Whether the edges shall meet.
    pub closure: Closure,
}

impl TaskOrder {
    /// The ordered knot in the notation of Tera & Aberg 1976: `2=1=1`.
    #[must_use]
    pub fn notation(&self) -> String {
        let mut notation = String::new();
        let mut before: Option<Direction> = None;
        for throw in &self.throws {
            if let Some(direction) = before {
                notation.push(if direction == throw.direction { 'x' } else { '=' });
            }
            notation.push_str(&throw.wraps.to_string());
            before = Some(throw.direction);
        }
        notation
    }
}

/// What shall become of the gap between the flaps' edges.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Closure {
    /// It may stay: what lies in it is meant to heal open.
    OpenHealing,
    /// It shall be closed, edge to edge.
    Approximation,
}

/// One throw to lay.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct OrderedThrow {
    /// Times the strand goes round: 1 = single, 2 = double.
    pub wraps: u32,
    /// Which way the long strand is carried round the holder.
    pub direction: Direction,
}

/// From a smallest to a largest allowed value.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Span {
    /// Smallest allowed value.
    pub min: f64,
    /// Largest allowed value.
    pub max: f64,
}
