//! Every published check value, held to what the list expects of this build.

use marshgas::study::evidence::{Expectation, Finding, Start, Verdict, book, compute, settled};

fn told(findings: &[&Finding]) -> String {
    findings
        .iter()
        .map(|f| {
            format!(
                "\n{}: computed {}, allowed {:?}, gap {} (known {:?})",
                f.check.id,
                f.computed,
                f.check.range(),
                f.gap,
                f.check.known_gap
            )
        })
        .collect()
}

#[test]
fn every_check_is_as_the_list_expects() {
    let findings = compute(&|_| {}).unwrap();
    assert_eq!(findings.len(), book().checks.len());
    let disagree: Vec<&Finding> = findings.iter().filter(|f| f.disagrees()).collect();
    assert!(disagree.is_empty(), "disagree:{}", told(&disagree));
    let drifted: Vec<&Finding> = findings.iter().filter(|f| f.drifted()).collect();
    assert!(
        drifted.is_empty(),
        "known misses that agree now or grew by more than a tenth:{}",
        told(&drifted)
    );
    for f in &findings {
        assert_eq!(
            f.verdict == Verdict::SetBy,
            f.check.expected == Expectation::SetBy
        );
    }
}

#[test]
fn the_list_is_sound() {
    let book = book();
    for check in &book.checks {
        let id = &check.id;
        assert!(book.sources[&check.source].len() > 10, "{id}");
        let (low, high) = check.range();
        assert!(low <= high, "{id}");
        assert!(
            check.published.is_some() != (check.low.is_some() || check.high.is_some()),
            "{id}: a value or a band, not both"
        );
        assert!(
            check.published.is_none() || check.allowed.is_some() || check.allowed_share.is_some(),
            "{id}: no gap is allowed for"
        );
        assert_eq!(
            check.expected == Expectation::Misses,
            check.known_gap.is_some(),
            "{id}: a miss has a size"
        );
        assert_eq!(
            check.expected != Expectation::Agrees,
            !check.cause.is_empty(),
            "{id}: a miss has a cause"
        );
        let same = book.checks.iter().filter(|other| other.id == *id).count();
        assert_eq!(same, 1, "{id} stands twice");
    }
    for source in book.sources.keys() {
        assert!(
            book.checks.iter().any(|check| check.source == *source),
            "source {source} is not used"
        );
    }
}

#[test]
fn benchmark_settles_on_the_published_state_from_two_starts() {
    for start in [Start::ThirtyPercentOff, Start::Dilute] {
        let states = settled(start).unwrap();
        // 26 components, three gases, six dissociated forms, pH, flow.
        assert_eq!(states.len(), 37);
        for s in &states {
            let gap = (s.computed / s.published - 1.0).abs();
            assert!(
                gap <= 1e-4,
                "{start:?} {}: {} not {}",
                s.name,
                s.computed,
                s.published
            );
        }
    }
}
