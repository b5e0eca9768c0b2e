//! Permanent teeth, and what the three common notations call them.
//!
//! ISO 3950:2016 is the notation of scenarios and recordings: two figures, the quadrant (1 upper right, 2 upper left,
//! 3 lower left, 4 lower right, sides as the patient has them) and the place from the midline (1 to 8).

use serde::{Deserialize, Serialize};
use std::fmt;
use thiserror::Error;

/// The teeth there are, in ISO 3950.
pub const ALLOWED: &str = "11 to 18, 21 to 28, 31 to 38, 41 to 48";

/// Quadrants in words, in the order of their figures.
const QUADRANTS: [&str; 4] = ["upper right", "upper left", "lower left", "lower right"];

/// Teeth of a quadrant in words, from the midline.
const PLACES: [&str; 8] = [
    "central incisor",
    "lateral incisor",
    "canine",
    "first premolar",
    "second premolar",
    "first molar",
    "second molar",
    "third molar",
];

/// A permanent tooth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "u8", into = "u8")]
pub struct Tooth(u8);

/// A number that no permanent tooth has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("tooth is {0}, allowed {ALLOWED} (ISO 3950: quadrant, then place from the midline)")]
pub struct NoSuchTooth(pub u8);

impl TryFrom<u8> for Tooth {
    type Error = NoSuchTooth;

    fn try_from(number: u8) -> Result<Tooth, NoSuchTooth> {
        let exists = (1..=4).contains(&(number / 10)) && (1..=8).contains(&(number % 10));
        if exists { Ok(Tooth(number)) } else { Err(NoSuchTooth(number)) }
    }
}

impl From<Tooth> for u8 {
    fn from(tooth: Tooth) -> u8 {
        tooth.0
    }
}

impl Tooth {
    /// The upper arch and the lower one, each from the patient's right to the left: as someone sees them who faces the
    /// patient.
    #[must_use]
    pub fn arches() -> [Vec<Tooth>; 2] {
        let arch = |right: u8, left: u8| {
            (1..=8)
                .rev()
                .map(move |place| Tooth(10 * right + place))
                .chain((1..=8).map(move |place| Tooth(10 * left + place)))
        };
        [arch(1, 2).collect(), arch(4, 3).collect()]
    }

    /// The two figures of ISO 3950, 11 to 48.
    #[must_use]
    pub fn number(self) -> u8 {
        self.0
    }

    /// The quadrant, 1 to 4.
    #[must_use]
    pub fn quadrant(self) -> u8 {
        self.0 / 10
    }

    /// The place from the midline, 1 to 8.
    #[must_use]
    pub fn place(self) -> u8 {
        self.0 % 10
    }

    /// Whether it is in the upper jaw.
    #[must_use]
    pub fn is_upper(self) -> bool {
        self.quadrant() <= 2
    }

    /// Whether it is on the patient's right.
    #[must_use]
    pub fn is_right(self) -> bool {
        matches!(self.quadrant(), 1 | 4)
    }

    /// The tooth of the same name on the other side of the same jaw.
    #[must_use]
    pub fn contralateral(self) -> Tooth {
        let quadrant = [2, 1, 4, 3][usize::from(self.quadrant() - 1)];
        Tooth(10 * quadrant + self.place())
    }

    /// Its name in words, such as "lower left second premolar".
    #[must_use]
    pub fn name(self) -> String {
        let [quadrant, place] = [self.quadrant(), self.place()].map(|figure| usize::from(figure - 1));
        format!("{} {}", QUADRANTS[quadrant], PLACES[place])
    }

    /// Its number in the universal system, 1 to 32: from the upper right third molar along the upper arch to the left one,
    /// then from the lower left third molar along the lower arch to the right one.
    ///
    /// Source: HL7 Terminology, NamingSystem ADAUniversalToothDesignationSystem 1.0.0 (2022), for ANSI/ADA 3950.
    #[must_use]
    pub fn universal(self) -> u8 {
        match self.quadrant() {
            1 => 9 - self.place(),
            2 => 8 + self.place(),
            3 => 25 - self.place(),
            _ => 24 + self.place(),
        }
    }

    /// Its name in the notation of Zsigmondy (1861) and Palmer as it is typed: the quadrant as two letters for the corner
    /// that is drawn by hand, and the place from the midline. `LL5` is the lower left second premolar.
    ///
    /// Source: Wikipedia, "Palmer notation" and its alphanumeric form; from memory.
    #[must_use]
    pub fn palmer(self) -> String {
        let quadrant = ["UR", "UL", "LL", "LR"][usize::from(self.quadrant() - 1)];
        format!("{quadrant}{}", self.place())
    }

    /// Its name in words and the other notations, to stand beside its number.
    #[must_use]
    pub fn described(self) -> String {
        format!("{}; universal {}, Palmer {}", self.name(), self.universal(), self.palmer())
    }

    /// The number with all its other names: "35 (lower left second premolar; universal 20, Palmer LL5)".
    #[must_use]
    pub fn in_full(self) -> String {
        format!("{self} ({})", self.described())
    }
}

impl fmt::Display for Tooth {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tooth(number: u8) -> Tooth {
        Tooth::try_from(number).expect("it exists")
    }

    /// The chart of permanent teeth that comparisons of the notations show, row by row as one faces the patient: ISO 3950
    /// and universal as in "Dental notation", Wikipedia (read in a copy of January 2024), Palmer after its quadrants.
    #[test]
    fn each_tooth_has_the_numbers_of_the_published_chart() {
        let upper: [(u8, u8); 16] = [
            (18, 1),
            (17, 2),
            (16, 3),
            (15, 4),
            (14, 5),
            (13, 6),
            (12, 7),
            (11, 8),
            (21, 9),
            (22, 10),
            (23, 11),
            (24, 12),
            (25, 13),
            (26, 14),
            (27, 15),
            (28, 16),
        ];
        let lower: [(u8, u8); 16] = [
            (48, 32),
            (47, 31),
            (46, 30),
            (45, 29),
            (44, 28),
            (43, 27),
            (42, 26),
            (41, 25),
            (31, 24),
            (32, 23),
            (33, 22),
            (34, 21),
            (35, 20),
            (36, 19),
            (37, 18),
            (38, 17),
        ];
        let arches = Tooth::arches().map(|arch| arch.iter().map(|t| (t.number(), t.universal())).collect::<Vec<_>>());
        assert_eq!(arches, [upper.to_vec(), lower.to_vec()]);
    }

    #[test]
    fn each_tooth_has_its_name_side_and_jaw() {
        let cases = [
            (11, "upper right central incisor", "UR1", 21),
            (13, "upper right canine", "UR3", 23),
            (22, "upper left lateral incisor", "UL2", 12),
            (26, "upper left first molar", "UL6", 16),
            (35, "lower left second premolar", "LL5", 45),
            (38, "lower left third molar", "LL8", 48),
            (44, "lower right first premolar", "LR4", 34),
            (47, "lower right second molar", "LR7", 37),
        ];
        for (number, name, palmer, other_side) in cases {
            let tooth = tooth(number);
            assert_eq!((tooth.name().as_str(), tooth.palmer().as_str()), (name, palmer));
            assert_eq!(tooth.contralateral().number(), other_side);
            assert_eq!((tooth.is_upper(), tooth.is_right()), (name.starts_with("upper"), name.contains("right")));
        }
        assert_eq!(tooth(35).in_full(), "35 (lower left second premolar; universal 20, Palmer LL5)");
    }

    #[test]
    fn a_number_that_is_no_permanent_tooth_is_refused_with_those_that_are() {
        let all: Vec<u8> = Tooth::arches().into_iter().flatten().map(Tooth::number).collect();
        for number in 0..=u8::MAX {
            assert_eq!(Tooth::try_from(number).is_ok(), all.contains(&number), "{number}");
        }
        let refused = Tooth::try_from(39).expect_err("there is none").to_string();
        assert!(refused.starts_with("tooth is 39, allowed 11 to 18, 21 to 28, 31 to 38, 41 to 48"), "{refused}");
        assert!(ron::from_str::<Tooth>("75").is_err(), "a milk tooth in a file is refused");
    }
}
