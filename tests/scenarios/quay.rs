//! Members that are run abreast, for the tests that hold them to runs alone.

use marshgas::case::Case;
use marshgas::simulate::{self, Member, Outcome, Port, RunFailure};

/// Hands out members and takes their outcomes.
struct Quay<'a> {
    waiting: std::iter::Enumerate<std::slice::Iter<'a, Member>>,
    found: Vec<Option<Result<Outcome, RunFailure>>>,
}

impl Port for Quay<'_> {
    fn next(&mut self) -> Option<(usize, Member)> {
        self.waiting.next().map(|(i, member)| (i, member.clone()))
    }

    fn done(&mut self, index: usize, _: &Case, outcome: Result<Outcome, RunFailure>) {
        assert!(self.found[index].is_none(), "{index} came twice");
        self.found[index] = Some(outcome);
    }
}

/// Runs all of them abreast; their outcomes in the same order.
pub(crate) fn abreast(members: &[Member]) -> Vec<Result<Outcome, RunFailure>> {
    let mut quay = Quay {
        waiting: members.iter().enumerate(),
        found: members.iter().map(|_| None).collect(),
    };
    simulate::run_many(&mut quay);
    quay.found.into_iter().map(Option::unwrap).collect()
}
