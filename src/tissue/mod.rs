//! The gum round the socket: two flaps that give, pale and tear, and the membrane under them.
//!
//! A flap is a linear elastic sheet in its plane ([`sheet`]) and one stiffening spring a bite across it ([`lift`]).
//! The thread's solver sees each bite as a node with an energy ([`Flaps::bite_energy`], [`Flaps::couplings`],
//! [`Flaps::edge_contact`]); each tick it hands back its forces ([`Flaps::update`]), and stress, pressure on the blood
//! ([`pressure`]), paling ([`perfusion`]) and tearing ([`tearing`]) follow by adding up fields that were solved when
//! each hole was made.
//!
//! Left out: the curvature of the ridge, large displacements (a pull above about 0.6 N gives more than a straight line
//! says, a lifted flap also draws inward), a stiff rim as a zone of its own, creep, and the weight of the tissue.

pub mod band;
pub mod bite;
pub mod blood;
pub mod edge_contact;
pub mod flap;
pub mod flap_settings;
pub mod flaps;
pub mod grid;
pub mod lift;
pub mod membrane;
pub mod perfusion;
pub mod pressure;
mod problem;
pub mod sheet;
pub mod tearing;

pub use bite::{BiteId, BiteSpec};
pub use edge_contact::{EdgeContact, EdgeLaw};
pub use flap::{BiteEnergy, Coupling, Flap, Side, SurfacePoint};
pub use flap_settings::FlapSettings;
pub use flaps::{EdgeGap, EdgePair, Flaps, FlapsSettings, HoleLoad, SurfaceLoad, TickLoads};
pub use membrane::{Membrane, Overlap};
pub use problem::OutOfRange;
