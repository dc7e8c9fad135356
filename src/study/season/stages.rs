//! What the stages of the cleaning do in a year of the plant as it runs, without the months that ran it in.

use super::{HOURS, YEAR_D};
use crate::plant::PlantFault;
use crate::plant::cleaning::{GasStep, Refill, Stage, StageOutcome, TrainOutcome, run_train};

/// The stages of a run with their rates over its last year, and the days that these are of. A shorter run gives its
/// whole, and so does one with a bed that is never refilled: what that takes hangs on what went before.
pub(super) fn of_a_year(
    stages: &[Stage],
    steps: &[GasStep],
    whole: &TrainOutcome,
) -> Result<(Vec<StageOutcome>, u32), PlantFault> {
    let days = steps.len() / HOURS;
    let kept = |stage: &Stage| matches!(stage, Stage::Bed(bed) if bed.refill == Refill::Never);
    if days <= YEAR_D || stages.iter().any(kept) {
        return Ok((
            whole.stages.clone(),
            u32::try_from(days).unwrap_or(u32::MAX),
        ));
    }
    let year = run_train(stages, &steps[(days - YEAR_D) * HOURS..])?;
    let of = |(year, whole): (StageOutcome, &StageOutcome)| StageOutcome {
        breakthrough_d: whole.breakthrough_d.clone(),
        fillings_spent: whole.fillings_spent,
        loaded_share: whole.loaded_share,
        ..year
    };
    let stages = year.stages.into_iter().zip(&whole.stages).map(of).collect();
    Ok((stages, YEAR_D as u32))
}
