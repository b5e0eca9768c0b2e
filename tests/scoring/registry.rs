//! Every criterion says what it judges and where its numbers come from.

use std::collections::BTreeSet;

use knotwright::score::{Band, CRITERIA, CRITICAL_FAULTS, FAILS_BELOW};

fn is_snake_case(id: &str) -> bool {
    !id.is_empty() && id.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
}

#[test]
fn every_criterion_has_a_unique_id_a_title_a_doc_and_a_source() {
    let mut ids = BTreeSet::new();
    for criterion in CRITERIA {
        let id = criterion.id();
        assert!(is_snake_case(id), "`{id}`");
        assert!(ids.insert(id), "`{id}` is there twice");
        assert!(!criterion.title().is_empty(), "`{id}` has no title");
        assert!(criterion.doc().ends_with('.'), "`{id}` has no doc in sentences");
        assert!(!criterion.source().is_empty(), "`{id}` has no source");
    }
    for fault in CRITICAL_FAULTS {
        assert!(is_snake_case(fault.id), "`{}`", fault.id);
        assert!(ids.insert(fault.id), "`{}` is there twice", fault.id);
        assert!(!fault.doc.is_empty() && !fault.advice.is_empty(), "`{}` has no doc or advice", fault.id);
        assert!(!fault.source.is_empty(), "`{}` has no source", fault.id);
    }
}

#[test]
fn every_band_has_a_source_a_doc_a_unit_and_a_default_in_its_range() {
    for criterion in CRITERIA {
        let mut ids = BTreeSet::new();
        assert!(!criterion.bands().is_empty(), "`{}` has no band", criterion.id());
        for band in criterion.bands().iter().chain([&FAILS_BELOW]) {
            let place = format!("`{}` of `{}`", band.id, criterion.id());
            assert!(ids.insert(band.id), "{place} is there twice");
            assert!(has_everything(band), "{place} lacks something: {band:?}");
        }
    }
}

fn has_everything(band: &Band) -> bool {
    let unit = band.unit.replace(' ', "_").to_ascii_lowercase();
    let unit_in_name = unit == "1" || band.id.ends_with(&format!("_{unit}"));
    is_snake_case(band.id)
        && unit_in_name
        && !band.doc.is_empty()
        && !band.source.is_empty()
        && band.min < band.max
        && (band.min..=band.max).contains(&band.default)
}
