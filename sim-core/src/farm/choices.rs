//! What is left open on a field: which jobs hang on it, and when it is decided.

use super::error::{FarmError, FarmErrorKind};
use super::jobs::{FieldJobs, Part};
use super::model::{Choice, ChoiceOf, Window};
use super::spec::{LeftOpen, OperationSpec, TILLAGE};

/// The parts of a field's year whose seedbed is one choice.
const SEEDBEDS: [&[Part]; 2] = [&[Part::Standing], &[Part::Following, Part::NextYear]];

impl FieldJobs<'_> {
    /// What of an operation hangs on choices that are left open: the straw of what stands, and the seedbeds that
    /// are planned. For land that is abandoned the farm's own word holds.
    pub(super) fn open_to(&self, operation: &OperationSpec, part: Part) -> LeftOpen {
        let open = self.spec.left_open;
        LeftOpen {
            straw: open.straw && part == Part::Standing,
            tillage: open.tillage && part != Part::Fallback && !operation.tillage.is_empty(),
        }
    }

    /// Whether the operation applies, or would if a choice that is left open were made another way.
    pub(super) fn may_apply(&self, crop: usize, operation: &OperationSpec, part: Part) -> bool {
        let open = self.open_to(operation, part);
        let mut free = operation.clone();
        if open.straw {
            free.straw = None;
        }
        if open.tillage {
            free.tillage.clear();
        }
        self.applies(crop, &free, part)
    }

    /// Whether the operation is for this way of making a seedbed.
    pub(super) fn is_for(&self, operation: &OperationSpec, way: &str) -> bool {
        operation.tillage.iter().any(|of| of == way)
    }

    /// The ways that the operation is for, one bit each.
    pub(super) fn ways(&self, operation: &OperationSpec) -> u8 {
        let bits = TILLAGE.iter().enumerate().map(|(bit, way)| u8::from(self.is_for(operation, way)) << bit);
        bits.fold(0, |mask, bit| mask | bit)
    }

    /// Notes the field's choices.
    pub(super) fn leave_open(&mut self) -> Result<(), FarmError> {
        self.refuse_windows_that_go()?;
        self.leave_straw_open();
        SEEDBEDS.into_iter().for_each(|parts| self.leave_tillage_open(parts));
        Ok(())
    }

    /// A window that is counted from work which may not be done would never open.
    fn refuse_windows_that_go(&self) -> Result<(), FarmError> {
        for planned in &self.planned {
            let Window::After { job: first, .. } = self.farm.jobs[planned.job].window else { continue };
            if !self.sure_with(first, planned.job) {
                return Err(FarmError {
                    origin: planned.operation.origin,
                    word: "from".into(),
                    kind: FarmErrorKind::Conflict {
                        of: self.label(planned.crop, planned.operation),
                        why: "its window is counted from work that a decision of the policy may leave out",
                        fix: "count it from work that is always done, or give it the same `straw` or `tillage`",
                    },
                });
            }
        }
        Ok(())
    }

    fn leave_straw_open(&mut self) {
        let standing = || self.planned.iter().filter(|planned| planned.part == Part::Standing);
        let Some(crop) = standing().next().map(|planned| planned.crop) else { return };
        let of_straw = |such: &dyn Fn(usize) -> bool| -> Vec<usize> {
            standing().map(|planned| planned.job).filter(|job| such(*job)).collect()
        };
        let jobs = of_straw(&|job| self.farm.jobs[job].if_straw.is_some());
        let reckoned = of_straw(&|job| {
            !self.farm.jobs[job].other_work.is_empty() && self.farm.jobs[job].if_straw.is_none()
        });
        if jobs.is_empty() && reckoned.is_empty() {
            return;
        }
        let before =
            |later: &usize| self.farm.jobs[*later].links_in.iter().map(|link| self.farm.links[*link].before);
        let first: Vec<usize> = jobs.iter().flat_map(before).filter(|job| !jobs.contains(job)).collect();
        let after = if reckoned.is_empty() { first } else { reckoned.clone() };
        let of = ChoiceOf::Straw { usual: self.straw(crop) };
        let day = self.first_day(jobs.iter().chain(&reckoned));
        self.farm.choices.push(Choice { field: self.index, crop, of, jobs, reckoned, after, day });
    }

    fn leave_tillage_open(&mut self, parts: &[Part]) {
        let jobs: Vec<usize> = self
            .planned
            .iter()
            .filter(|planned| parts.contains(&planned.part))
            .map(|planned| planned.job)
            .filter(|job| self.farm.jobs[*job].if_tillage.is_some())
            .collect();
        let Some(crop) = jobs.first().map(|job| self.farm.rows[self.farm.jobs[*job].row].crop) else {
            return;
        };
        let after = match parts.contains(&Part::Standing) {
            true => Vec::new(),
            false => {
                let standing = self.planned.iter().filter(|planned| planned.part == Part::Standing);
                standing.map(|planned| planned.job).collect()
            }
        };
        let usual = TILLAGE.iter().position(|way| *way == self.tillage(crop)).unwrap_or(0);
        let of = ChoiceOf::Tillage { usual };
        let day = self.first_day(jobs.iter());
        self.farm.choices.push(Choice {
            field: self.index,
            crop,
            of,
            jobs,
            reckoned: Vec::new(),
            after,
            day,
        });
    }

    /// The first day of any of these jobs' windows; the season's first where they are counted from other work.
    fn first_day<'j>(&self, jobs: impl Iterator<Item = &'j usize>) -> u32 {
        let days = jobs.map(|job| match self.farm.jobs[*job].window {
            Window::Fixed { from, .. } => from,
            Window::After { .. } => 0,
        });
        days.min().unwrap_or(0)
    }
}
