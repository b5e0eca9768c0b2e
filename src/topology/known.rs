//! What has been worked out about diagrams, so that none is worked out twice.
//!
//! A stitch that is seen from several sides and cut back crossing by crossing gives many diagrams, of which most are the
//! same once they are simplified.

use std::collections::BTreeMap;

use super::alexander;
use super::diagram::Diagram;
use super::signature::{GoeritzReading, signature};

/// Fingerprints and signatures of the diagrams that were asked about so far.
#[derive(Debug, Default)]
pub struct Known {
    fingerprints: BTreeMap<Diagram, u64>,
    signatures: BTreeMap<Diagram, Option<GoeritzReading>>,
}

impl Known {
    /// [`alexander::fingerprint`] of the diagram.
    pub fn fingerprint(&mut self, diagram: &Diagram) -> u64 {
        look_up(&mut self.fingerprints, diagram, alexander::fingerprint)
    }

    /// [`signature`] of the diagram.
    pub fn signature(&mut self, diagram: &Diagram) -> Option<GoeritzReading> {
        look_up(&mut self.signatures, diagram, signature)
    }
}

fn look_up<T: Copy>(known: &mut BTreeMap<Diagram, T>, diagram: &Diagram, work_out: fn(&Diagram) -> T) -> T {
    if let Some(value) = known.get(diagram) {
        return *value;
    }
    let value = work_out(diagram);
    known.insert(diagram.clone(), value);
    value
}
