//! What comes before what on a field.

use super::error::{FarmError, FarmErrorKind};
use super::jobs::{FieldJobs, Part, Planned};
use super::model::{Link, Window};
use super::spec::{CropSpec, LinkSpec};

impl<'a> FieldJobs<'a> {
    pub(super) fn link(
        &mut self,
        standing: Option<&'a CropSpec>,
        following: Option<&'a CropSpec>,
    ) -> Result<(), FarmError> {
        for index in 0..self.planned.len() {
            let Planned { crop, part, operation, job, .. } = &self.planned[index];
            let (crop, part, operation, job) = (*crop, *part, *operation, *job);
            let own = &self.spec.crops[crop];
            let mut linked = false;
            for link in &operation.after {
                if let Some(before) = self.find(crop, part, &link.operation) {
                    self.add_link(before, job, link);
                    linked |= self.sure_with(before, job);
                } else if ![Some(own), standing, following]
                    .into_iter()
                    .flatten()
                    .flat_map(|crop| crop.standing.iter().chain(&crop.following))
                    .any(|known| known.name == link.operation)
                {
                    return Err(self.unknown_operation(link.origin, &link.operation));
                }
            }
            if let Window::After { job: before, .. } = self.farm.jobs[job].window {
                // A window counted from another operation comes after it, said or not.
                let said =
                    self.farm.jobs[job].links_in.iter().any(|link| self.farm.links[*link].before == before);
                if !said {
                    self.add_plain_link(before, job, true);
                }
                linked |= self.sure_with(before, job);
            }
            if !linked && matches!(part, Part::Following | Part::Fallback) {
                self.link_to_harvest(job);
            }
        }
        Ok(())
    }

    /// Whether the job is done in every season in which the other one is.
    pub(super) fn sure_with(&self, job: usize, other: usize) -> bool {
        let (job, other) = (&self.farm.jobs[job], &self.farm.jobs[other]);
        let straw = job.if_straw.is_none() || job.if_straw == other.if_straw;
        straw && job.if_tillage.is_none_or(|ways| other.if_tillage.is_some_and(|of| of & !ways == 0))
    }

    /// The following crop's first work comes after everything that ends the standing crop.
    fn link_to_harvest(&mut self, job: usize) {
        let ends: Vec<usize> = self
            .planned
            .iter()
            .filter(|planned| planned.part == Part::Standing)
            .filter(|planned| {
                !self.planned.iter().any(|later| {
                    later.part == Part::Standing
                        && later.operation.after.iter().any(|link| link.operation == planned.operation.name)
                        && self.sure_with(later.job, planned.job)
                })
            })
            .map(|planned| planned.job)
            .collect();
        for before in ends {
            self.add_plain_link(before, job, false);
        }
    }

    fn add_plain_link(&mut self, before: usize, after: usize, required: bool) {
        let link = Link {
            before,
            after,
            required,
            min_lag_s: 0,
            max_lag_days: None,
            if_missed: super::Missed::Continue,
            follow_ha: None,
        };
        self.push_link(link);
    }

    fn add_link(&mut self, before: usize, after: usize, link: &LinkSpec) {
        self.push_link(Link {
            before,
            after,
            required: link.required,
            min_lag_s: (link.min_lag_h * 3600.0).round() as i64,
            max_lag_days: link.max_lag_days,
            if_missed: link.if_missed,
            follow_ha: link.follow_ha,
        });
    }

    fn push_link(&mut self, link: Link) {
        let index = self.farm.links.len();
        self.farm.jobs[link.before].links_out.push(index);
        self.farm.jobs[link.after].links_in.push(index);
        self.farm.links.push(link);
    }

    pub(super) fn refuse_cycles(&self) -> Result<(), FarmError> {
        // Peel off what waits for nothing; what is left waits for itself.
        let mut left: Vec<usize> = self.planned.iter().map(|planned| planned.job).collect();
        loop {
            let before = left.len();
            let still = left.clone();
            left.retain(|job| {
                self.farm.jobs[*job]
                    .links_in
                    .iter()
                    .any(|link| still.contains(&self.farm.links[*link].before))
            });
            if left.is_empty() {
                return Ok(());
            }
            if left.len() == before {
                break;
            }
        }
        // Walk backwards until a job comes round again.
        let mut path = vec![left[0]];
        loop {
            let last = path[path.len() - 1];
            let next = self.farm.jobs[last]
                .links_in
                .iter()
                .map(|link| self.farm.links[*link].before)
                .find(|before| left.contains(before))
                .unwrap_or(last);
            if let Some(start) = path.iter().position(|job| *job == next) {
                let mut circle: Vec<&str> =
                    path[start..].iter().map(|job| self.operation_name(*job)).collect();
                circle.reverse();
                circle.push(circle[0]);
                let origin = self
                    .planned
                    .iter()
                    .find(|planned| planned.job == next)
                    .map_or(self.field.origin, |planned| planned.operation.origin);
                return Err(FarmError {
                    origin,
                    word: "after".into(),
                    kind: FarmErrorKind::Cycle { chain: circle.join(" -> ") },
                });
            }
            path.push(next);
        }
    }

    fn operation_name(&self, job: usize) -> &str {
        &self.farm.rows[self.farm.jobs[job].row].operation
    }
}
