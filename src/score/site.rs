//! The site check: the tooth that was marked on the arch before the first bite, beside the one that the order names.
//!
//! The site is marked, and site and order are gone through once more, before anything is begun: Joint Commission,
//! Universal Protocol, UP.01.02.01 and UP.01.03.01; World Health Organization 2009, Surgical Safety Checklist (from
//! memory). For teeth: Lee, Curley & Smith 2007, J Oral Maxillofac Surg 65:1793. That a tooth is marked on a diagram,
//! because it can hardly be marked in the mouth, is from memory.

use serde::{Deserialize, Serialize};

use super::TaskOrder;
use super::criterion::time;
use crate::analysis::findings::Findings;
use crate::quantity::Tick;
use crate::said::{Said, said};
use crate::tooth::Tooth;

/// Where the check is from, for instructors.
pub(super) const SOURCE: &str = "Joint Commission, Universal Protocol, UP.01.02.01 and UP.01.03.01; Lee, Curley & Smith \
                                 2007, J Oral Maxillofac Surg 65:1793";

/// What was ordered and what was marked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CheckedSite {
    /// The tooth that the order names.
    pub ordered: Tooth,
    /// The tooth that was marked last before the first bite, and when; `None` if none was.
    pub marked: Option<(Tooth, Tick)>,
    /// When the first bite was begun; `None` if none was.
    pub first_bite: Option<Tick>,
}

impl CheckedSite {
    pub(super) fn of(findings: &Findings, order: &TaskOrder) -> CheckedSite {
        CheckedSite { ordered: order.tooth, marked: findings.site.marked(), first_bite: findings.site.first_bite }
    }

    /// The tooth that was marked, in words.
    #[must_use]
    pub fn marked_words(&self) -> Said {
        match self.marked {
            None => said!("mark-site-none", "none"),
            Some((tooth, tick)) => said!("mark-site-marked", "{tooth} at {when}", tooth, when = time(tick)),
        }
    }

    /// What was ordered and what was marked, in a sentence.
    #[must_use]
    pub fn sentence(&self) -> Said {
        said!(
            "mark-site",
            "Site: ordered {ordered}, marked {marked}.",
            ordered = self.ordered,
            marked = self.marked_words()
        )
    }

    /// Two sentences on a first bite that was begun at another site than the ordered one, or at none that was marked, and
    /// its moment; `None` if it was at the right one, or if there was no bite.
    pub(super) fn wrong(&self) -> Option<(Said, Tick)> {
        let bite = self.first_bite?;
        let order = said!("mark-site-order", "The order names tooth {tooth}.", tooth = self.ordered);
        let found = match self.marked {
            Some((tooth, _)) if tooth == self.ordered => return None,
            Some((tooth, tick)) if tooth == self.ordered.contralateral() => said!(
                "mark-site-other-side",
                "The first bite was begun at {bite} with tooth {tooth}, the same on the other side, marked as the site, at \
                 {when}.",
                bite = time(bite),
                tooth,
                when = time(tick)
            ),
            Some((tooth, tick)) => said!(
                "mark-site-other-tooth",
                "The first bite was begun at {bite} with tooth {tooth} marked as the site, at {when}.",
                bite = time(bite),
                tooth,
                when = time(tick)
            ),
            None => said!(
                "mark-site-no-tooth",
                "The first bite was begun at {bite} with no tooth marked as the site.",
                bite = time(bite)
            ),
        };
        Some((Said::joined([found, order], " "), bite))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::findings::SiteMark;
    use crate::score::example;

    /// A tooth and a tick for each mark.
    type Marks = &'static [(u8, u32)];

    /// The site of an attempt with these marks, and its first bite at tick 660.
    fn site(marks: Marks) -> CheckedSite {
        let mut findings = example::findings();
        // Zero stands for a mark that is wiped off.
        let mark = |&(tooth, tick): &(u8, u32)| SiteMark { tooth: Tooth::try_from(tooth).ok(), tick: Tick(tick) };
        findings.site.marks = marks.iter().map(mark).collect();
        CheckedSite::of(&findings, &example::order())
    }

    #[test]
    fn the_last_mark_before_the_first_bite_is_the_one_that_counts() {
        let cases: [(Marks, Option<u8>, bool); 8] = [
            (&[], None, false),
            (&[(35, 0)], Some(35), true),
            (&[(45, 0), (35, 300)], Some(35), true),
            (&[(35, 0), (45, 660)], Some(45), false),
            (&[(35, 0), (45, 661)], Some(35), true),
            (&[(45, 0), (35, 661)], Some(45), false),
            (&[(35, 0), (0, 300)], None, false),
            (&[(35, 0), (0, 700)], Some(35), true),
        ];
        for (marks, counts, right) in cases {
            let site = site(marks);
            assert_eq!(site.marked.map(|(tooth, _)| tooth.number()), counts, "{marks:?}");
            assert_eq!(site.wrong().is_none(), right, "{marks:?}");
        }
    }

    #[test]
    fn without_a_bite_no_site_is_wrong() {
        let site = CheckedSite { first_bite: None, ..site(&[(45, 0)]) };
        assert_eq!(site.wrong(), None);
    }

    #[test]
    fn a_wrong_site_is_told_with_both_teeth_in_every_notation_and_both_times() {
        let order = "The order names tooth 35 (lower left second premolar; universal 20, Palmer LL5).";
        let cases = [
            (
                site(&[(45, 30)]),
                "The first bite was begun at 11.0 s with tooth 45 (lower right second premolar; universal 29, Palmer \
                 LR5), the same on the other side, marked as the site, at 0.5 s.",
            ),
            (
                site(&[(36, 30)]),
                "The first bite was begun at 11.0 s with tooth 36 (lower left first molar; universal 19, Palmer LL6) \
                 marked as the site, at 0.5 s.",
            ),
            (site(&[]), "The first bite was begun at 11.0 s with no tooth marked as the site."),
        ];
        for (site, found) in cases {
            assert_eq!(site.wrong(), Some((Said::plain(format!("{found} {order}")), Tick(660))));
        }
    }

    #[test]
    fn what_was_marked_stands_beside_the_order() {
        assert_eq!(
            site(&[(35, 0)]).sentence(),
            "Site: ordered 35 (lower left second premolar; universal 20, Palmer LL5), marked 35 (lower left second \
             premolar; universal 20, Palmer LL5) at 0.0 s."
        );
        assert!(site(&[]).sentence().ends_with("marked none."));
    }
}
