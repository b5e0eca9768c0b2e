//! A knot diagram as a signed Gauss code, and its simplification.

/// One passage of the strand through a crossing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Visit {
    /// Number of the crossing, `0..crossing_count`.
    pub crossing: usize,
    /// Whether the strand is the nearer one here.
    pub over: bool,
}

/// Diagram of one closed curve: the crossings in the order the strand passes them, each once over and once under.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Diagram {
    pub(super) visits: Vec<Visit>,
    pub(super) signs: Vec<i8>,
}

impl Diagram {
    /// A diagram from its signed Gauss code. Signs are +1 or -1, shape `[crossing_count]`.
    ///
    /// # Panics
    /// If a crossing is not visited exactly once over and once under.
    #[must_use]
    pub fn new(visits: Vec<Visit>, signs: Vec<i8>) -> Self {
        assert!(visits.len() == 2 * signs.len(), "two visits a crossing");
        let mut seen = vec![[false; 2]; signs.len()];
        for visit in &visits {
            let seen = &mut seen[visit.crossing][usize::from(visit.over)];
            assert!(!*seen, "crossing {} is visited twice on the same level", visit.crossing);
            *seen = true;
        }
        Self { visits, signs }
    }

    /// The passages in order along the strand, shape `[2 * crossing_count]`; the last is followed by the first.
    #[must_use]
    pub fn visits(&self) -> &[Visit] {
        &self.visits
    }

    /// The sign of each crossing, +1 or -1.
    #[must_use]
    pub fn signs(&self) -> &[i8] {
        &self.signs
    }

    /// Number of crossings.
    #[must_use]
    pub fn crossing_count(&self) -> usize {
        self.signs.len()
    }

    /// Where each crossing is passed over and under: positions in [`Diagram::visits`], shape `[crossing_count]`.
    #[must_use]
    pub(super) fn positions(&self) -> (Vec<usize>, Vec<usize>) {
        let (mut over, mut under) = (vec![0; self.signs.len()], vec![0; self.signs.len()]);
        for (position, visit) in self.visits.iter().enumerate() {
            let side = if visit.over { &mut over } else { &mut under };
            side[visit.crossing] = position;
        }
        (over, under)
    }

    /// The same knot with every kink and every empty overlap removed, again and again (Reidemeister's moves 1 and 2).
    #[must_use]
    pub fn simplified(mut self) -> Self {
        let (mut under, mut removable, mut numbers) = (Vec::new(), Vec::new(), Vec::new());
        while self.find_removable(&mut under, &mut removable) {
            self.remove(&removable, &mut numbers);
        }
        self
    }

    /// Crossings that one round of moves 1 and 2 takes away, and whether there are any. Removing some leaves the others'
    /// neighbourhoods intact.
    fn find_removable(&self, under: &mut Vec<usize>, removable: &mut Vec<bool>) -> bool {
        under.resize(self.signs.len(), 0);
        for (position, visit) in self.visits.iter().enumerate() {
            if !visit.over {
                under[visit.crossing] = position;
            }
        }
        removable.clear();
        removable.resize(self.signs.len(), false);
        let mut any = false;
        let count = self.visits.len();
        for position in 0..count {
            let here = self.visits[position];
            let next = self.visits[if position + 1 < count { position + 1 } else { 0 }];
            if here.crossing == next.crossing {
                removable[here.crossing] = true;
                any = true;
            } else if here.over && next.over {
                let gap = under[here.crossing].abs_diff(under[next.crossing]);
                let neighbours_below = gap == 1 || gap == count - 1;
                // Opposite signs say that the overlap is an empty lens. With equal signs part of the knot lies within.
                let opposite = self.signs[here.crossing] != self.signs[next.crossing];
                if neighbours_below && opposite && !removable[here.crossing] && !removable[next.crossing] {
                    removable[here.crossing] = true;
                    removable[next.crossing] = true;
                    any = true;
                }
            }
        }
        any
    }

    fn remove(&mut self, removable: &[bool], numbers: &mut Vec<usize>) {
        numbers.resize(removable.len(), 0);
        let mut kept = 0;
        for (crossing, gone) in removable.iter().enumerate() {
            numbers[crossing] = kept;
            self.signs[kept] = self.signs[crossing];
            kept += usize::from(!gone);
        }
        self.signs.truncate(kept);
        let mut kept = 0;
        for position in 0..self.visits.len() {
            let Visit { crossing, over } = self.visits[position];
            self.visits[kept] = Visit { crossing: numbers[crossing], over };
            kept += usize::from(!removable[crossing]);
        }
        self.visits.truncate(kept);
    }
}
