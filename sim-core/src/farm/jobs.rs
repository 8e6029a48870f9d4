//! From crops and fields to jobs: which operations a field sees in the season, when, and after what.

use super::error::{FarmError, FarmErrorKind};
use super::model::{Job, JobWork, Lot, Row, Window};
use super::spec::{CropSpec, FarmSpec, FieldSpec, Moves, OperationSpec, Origin, Straw, When};
use super::{Farm, check, outfits, rate};

/// Which part of a field's year an operation belongs to; links look in the own crop first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    /// The standing crop, in the year of its harvest.
    Standing,
    /// The following crop, in the year before its harvest.
    Following,
    /// The following crop after the new year, in a season that reaches that far.
    NextYear,
    /// The crop that abandoned land goes to.
    Fallback,
}

/// An operation on its way to being a job.
pub(super) struct Planned<'a> {
    pub(super) crop: usize,
    pub(super) part: Part,
    pub(super) operation: &'a OperationSpec,
    /// Calendar year of its dates.
    pub(super) year: i16,
    pub(super) job: usize,
}

/// Adds every field's jobs and links to the farm.
pub(super) fn lay_out(farm: &mut Farm, spec: &FarmSpec, has_days: &[bool]) -> Result<(), FarmError> {
    let mut rows = Vec::new();
    for (index, field) in spec.fields.iter().enumerate() {
        FieldJobs { farm, spec, field, index, has_days, rows: &mut rows, planned: Vec::new() }.lay_out()?;
    }
    Ok(())
}

/// Operations of a crop, as a part of the field's year.
pub(super) type List<'a> = (usize, &'a [OperationSpec], Part, i16);

/// Crop, operation and year: what makes a row.
type RowKey = (usize, String, i16);

pub(super) struct FieldJobs<'a> {
    pub(super) farm: &'a mut Farm,
    pub(super) spec: &'a FarmSpec,
    pub(super) field: &'a FieldSpec,
    pub(super) index: usize,
    has_days: &'a [bool],
    rows: &'a mut Vec<RowKey>,
    pub(super) planned: Vec<Planned<'a>>,
}

impl<'a> FieldJobs<'a> {
    fn lay_out(mut self) -> Result<(), FarmError> {
        let year = self.farm.span.first().year();
        let standing = self.crop(self.field.standing.as_deref())?;
        let following = self.crop(self.field.following.as_deref())?;
        if let Some((crop, spec)) = standing {
            self.plan(crop, &spec.standing, Part::Standing, year)?;
        }
        if let Some((crop, spec)) = following {
            self.plan(crop, &spec.following, Part::Following, year)?;
            self.plan(crop, &spec.standing, Part::NextYear, year + 1)?;
            self.plan_fallbacks(year)?;
        }
        self.set_windows()?;
        self.link(standing.map(|(_, spec)| spec), following.map(|(_, spec)| spec))?;
        self.leave_open()?;
        self.refuse_cycles()
    }

    fn crop(&self, name: Option<&str>) -> Result<Option<(usize, &'a CropSpec)>, FarmError> {
        let Some(name) = name else { return Ok(None) };
        match self.spec.crops.iter().position(|crop| crop.name == name) {
            Some(index) => Ok(Some((index, &self.spec.crops[index]))),
            None => Err(check::unknown(
                self.field.origin,
                "crop",
                name,
                self.spec.crops.iter().map(|crop| crop.name.as_str()),
            )),
        }
    }

    /// Adds a job for each operation of the list that this field sees in the season.
    fn plan(
        &mut self,
        crop: usize,
        list: &'a [OperationSpec],
        part: Part,
        year: i16,
    ) -> Result<(), FarmError> {
        for operation in list {
            if self.may_apply(crop, operation, part) && self.in_season(crop, operation, part, year)? {
                let job = self.add_job(crop, operation, part, year)?;
                self.planned.push(Planned { crop, part, operation, year, job });
            }
        }
        Ok(())
    }

    /// Adds dormant jobs for the crop that land goes to when an operation is abandoned.
    fn plan_fallbacks(&mut self, year: i16) -> Result<(), FarmError> {
        let sources: Vec<(usize, &'a OperationSpec)> = self
            .planned
            .iter()
            .filter(|planned| planned.part == Part::Following && planned.operation.fallback_crop.is_some())
            .map(|planned| (planned.job, planned.operation))
            .collect();
        for (source, operation) in sources {
            let name = operation.fallback_crop.as_deref();
            let position = self.spec.crops.iter().position(|crop| Some(crop.name.as_str()) == name);
            let Some(crop) = position else {
                let known = self.spec.crops.iter().map(|crop| crop.name.as_str());
                return Err(check::unknown(operation.origin, "crop", name.unwrap_or_default(), known));
            };
            let first = self.planned.len();
            self.plan(crop, &self.spec.crops[crop].following, Part::Fallback, year)?;
            self.plan(crop, &self.spec.crops[crop].standing, Part::Fallback, year + 1)?;
            for planned in &self.planned[first..] {
                let name = &planned.operation.name;
                let twin = self.planned[..first]
                    .iter()
                    .find(|other| other.part == Part::Following && other.operation.name == *name);
                self.farm.jobs[planned.job].twin = twin.map(|other| other.job);
                self.farm.jobs[source].wakes.push(planned.job);
            }
        }
        Ok(())
    }

    /// The lists in which an operation of a part looks for earlier work: its own, what was done for its crop
    /// the year before, and the standing crop's.
    pub(super) fn lists_before(&self, crop: usize, part: Part, year: i16) -> [Option<List<'a>>; 3] {
        let spec = &self.spec.crops[crop];
        let this_year = self.farm.span.first().year();
        let fallback_standing = part == Part::Fallback && year > this_year;
        let own = match part {
            Part::Following => &spec.following,
            Part::Fallback if !fallback_standing => &spec.following,
            _ => &spec.standing,
        };
        let year_before = (part == Part::NextYear || fallback_standing).then_some((
            crop,
            spec.following.as_slice(),
            Part::Following,
            this_year,
        ));
        let standing = self.field.standing.as_deref().filter(|_| part != Part::Standing).and_then(|name| {
            let crop = self.spec.crops.iter().position(|crop| crop.name == name)?;
            Some((crop, self.spec.crops[crop].standing.as_slice(), Part::Standing, this_year))
        });
        [Some((crop, own.as_slice(), part, year)), year_before, standing]
    }

    pub(super) fn straw(&self, crop: usize) -> Straw {
        self.field.straw.unwrap_or(self.spec.crops[crop].straw)
    }

    pub(super) fn tillage(&self, crop: usize) -> &str {
        self.field.tillage.as_deref().unwrap_or(&self.spec.crops[crop].tillage)
    }

    /// Whether the field's straw and tillage call for the operation.
    pub(super) fn applies(&self, crop: usize, operation: &OperationSpec, part: Part) -> bool {
        // The field's own word on straw is about what stands on it now.
        let straw = if part == Part::Standing { self.straw(crop) } else { self.spec.crops[crop].straw };
        let by_straw = operation.straw.is_none_or(|wanted| wanted == straw);
        by_straw && (operation.tillage.is_empty() || self.is_for(operation, self.tillage(crop)))
    }

    pub(super) fn label(&self, crop: usize, operation: &OperationSpec) -> String {
        format!("{} of {}", operation.name, self.spec.crops[crop].name)
    }

    fn add_job(
        &mut self,
        crop: usize,
        operation: &OperationSpec,
        part: Part,
        year: i16,
    ) -> Result<usize, FarmError> {
        let row = self.row(crop, operation, year)?;
        let class = self.farm.rows[row].class;
        let soil = self.farm.soils.iter().position(|soil| *soil == self.field.soil).unwrap_or(0);
        let key = class * self.farm.soils.len() + soil;
        if !self.has_days[key] {
            return Err(FarmError {
                origin: operation.origin,
                word: operation.class.clone(),
                kind: FarmErrorKind::NoDays {
                    class: operation.class.clone(),
                    soil: self.field.soil.clone(),
                    operation: self.label(crop, operation),
                },
            });
        }
        let lot = match self.farm.lots.iter().position(|lot| lot.row == row && lot.soil == soil) {
            Some(lot) => lot,
            None => {
                self.farm.lots.push(Lot { row, soil, key });
                self.farm.lots.len() - 1
            }
        };
        let straw = self.straw(crop);
        let work = self.all_work(crop, operation, part, row, straw)?;
        let open = self.open_to(operation, part);
        let mut other_work = Vec::new();
        if open.straw {
            other_work = self.all_work(crop, operation, part, row, straw.other())?;
            if other_work == work {
                other_work.clear();
            }
        }
        let dormant = part == Part::Fallback || !self.applies(crop, operation, part);
        let job = self.farm.jobs.len();
        self.farm.jobs.push(Job {
            row,
            lot,
            field: self.index,
            area_ha: self.field.area_ha,
            window: Window::Fixed { from: 0, due: 0, latest: 0 },
            work,
            links_out: Vec::new(),
            links_in: Vec::new(),
            dated_by: Vec::new(),
            dormant,
            if_straw: if open.straw { operation.straw } else { None },
            if_tillage: open.tillage.then(|| self.ways(operation)),
            other_work,
            twin: None,
            wakes: Vec::new(),
        });
        let entry = &mut self.farm.rows[row];
        entry.jobs.push(job);
        if !dormant {
            entry.area_ha += self.field.area_ha;
        }
        Ok(job)
    }

    fn row(&mut self, crop: usize, operation: &OperationSpec, year: i16) -> Result<usize, FarmError> {
        let next_year = year > self.farm.span.first().year();
        let key: RowKey = (crop, operation.name.clone(), year);
        if let Some(row) = self.rows.iter().position(|known| *known == key) {
            return Ok(row);
        }
        let class =
            self.spec.classes.iter().position(|class| class.name == operation.class).ok_or_else(|| {
                let known = self.spec.classes.iter().map(|class| class.name.as_str());
                check::unknown(operation.origin, "work class", &operation.class, known)
            })?;
        let outfits = operation
            .outfits
            .iter()
            .map(|name| {
                self.farm.outfits.iter().position(|outfit| outfit.name == *name).ok_or_else(|| {
                    let known = self.farm.outfits.iter().map(|outfit| outfit.name.as_str());
                    check::unknown(operation.origin, "outfit", name, known)
                })
            })
            .collect::<Result<Vec<_>, _>>()?;
        let due_text = match &operation.due {
            When::Date(_) => String::new(),
            When::DaysAfter { operation, days } => format!("{operation} + {days} d"),
        };
        let name = if next_year { format!("{} (next year)", operation.name) } else { operation.name.clone() };
        let dates = self.dates(crop, operation, year)?;
        let stage = self.stage(crop, operation, dates)?;
        self.rows.push(key);
        self.farm.rows.push(Row {
            crop,
            operation: name,
            class,
            dates,
            stage,
            due_text,
            outfits,
            area_ha: 0.0,
            jobs: Vec::new(),
        });
        Ok(self.farm.rows.len() - 1)
    }

    /// How long the job takes each of the row's outfits if the standing crop's straw is treated so.
    fn all_work(
        &self,
        crop: usize,
        operation: &OperationSpec,
        part: Part,
        row: usize,
        straw: Straw,
    ) -> Result<Vec<JobWork>, FarmError> {
        let chopped = part == Part::Standing && straw == Straw::Chop;
        let outfits = self.farm.rows[row].outfits.iter();
        outfits.map(|outfit| self.job_work(crop, operation, chopped, *outfit)).collect()
    }

    fn job_work(
        &self,
        crop: usize,
        operation: &OperationSpec,
        chopped: bool,
        outfit: usize,
    ) -> Result<JobWork, FarmError> {
        let crop_spec = &self.spec.crops[crop];
        let factor = if chopped { operation.chopping_factor } else { 1.0 };
        let moved_t_ha = match operation.moves {
            Some(Moves::Grain) => Some(crop_spec.yield_t_ha),
            Some(Moves::Straw) => Some(crop_spec.straw_t_ha),
            _ => None,
        };
        let brought_kg_ha = match operation.moves {
            Some(Moves::Brought { kg_ha }) => Some(kg_ha),
            _ => None,
        };
        let limits = outfits::limits(
            self.spec,
            &self.farm.outfits[outfit],
            self.field.distance_km,
            factor,
            moved_t_ha,
            brought_kg_ha,
        );
        let rate = limits.work_rate().ok_or_else(|| FarmError {
            origin: operation.origin,
            word: self.farm.outfits[outfit].name.clone(),
            kind: FarmErrorKind::NoRate {
                outfit: format!("the outfit \"{}\"", self.farm.outfits[outfit].name),
                operation: self.label(crop, operation),
            },
        })?;
        Ok(work_of(self.field.area_ha, &rate))
    }

    /// The job of the named operation on this field: the own crop's first, then the standing crop's.
    pub(super) fn find(&self, crop: usize, part: Part, name: &str) -> Option<usize> {
        let own = self.planned.iter().find(|planned| {
            planned.crop == crop
                && planned.operation.name == name
                && (planned.part == part || (part == Part::NextYear && planned.part == Part::Following))
        });
        let standing = || {
            self.planned
                .iter()
                .find(|planned| planned.part == Part::Standing && planned.operation.name == name)
        };
        let found = if part == Part::Standing { own } else { own.or_else(standing) };
        found.map(|planned| planned.job)
    }

    pub(super) fn unknown_operation(&self, origin: Origin, name: &str) -> FarmError {
        let known = self.planned.iter().map(|planned| planned.operation.name.as_str());
        check::unknown(origin, "operation on this field", name, known)
    }
}

/// A job's seconds at a work rate, rounded to whole ones and never none.
fn work_of(area_ha: f64, rate: &rate::WorkRate) -> JobWork {
    let seconds = |ha_h: f64| ((area_ha / ha_h * 3600.0).round() as i64).max(1);
    let total_s = seconds(rate.with_supply_ha_h);
    JobWork { total_s, supply_s: (total_s - seconds(rate.own_ha_h)).max(0) }
}
