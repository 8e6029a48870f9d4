//! What the season looks up of rows, lots and jobs, all of one thing in one place.

use std::ops::Range;

use super::Plan;
use super::hours::{Hours, Pair};
use crate::farm::{Farm, Job, JobWork, Lot, Row, Unit};

/// A row.
#[derive(Debug, Clone)]
pub(in super::super) struct RowPlan {
    /// Index of its open hours.
    pub(in super::super) hours: usize,
    /// Index of its work class.
    pub(in super::super) class: usize,
    /// Whether its window is given by dates.
    pub(in super::super) dated: bool,
    pub(in super::super) lots: Vec<usize>,
    /// The one unit of each of its outfits; none of them if an outfit has several.
    pub(in super::super) units: Vec<Unit>,
    /// Mask of those of whom each of these units needs one; nobody if one needs no driver.
    pub(in super::super) drivers: u64,
}

/// A lot.
#[derive(Debug, Clone)]
pub(in super::super) struct LotPlan {
    pub(in super::super) row: usize,
    /// Index of its weather key, of its open hours, and of the two together.
    pub(in super::super) key: usize,
    pub(in super::super) hours: usize,
    pub(in super::super) pair: usize,
    /// Its jobs, the nearest first.
    pub(in super::super) jobs: Vec<u32>,
    /// Where its jobs are marked, in words of 64.
    pub(in super::super) words: Range<usize>,
}

/// A job. Jobs are looked up all the time: as many as can be are to lie side by side.
#[derive(Debug, Clone)]
pub(in super::super) struct JobPlan {
    row: u32,
    lot: u32,
    field: u32,
    /// Where it is marked among the jobs of its lot.
    word: u32,
    pub(in super::super) bit: u64,
    /// Ranges of what all jobs have in a row: work by outfit, links to later and earlier work, jobs whose
    /// windows are counted from this one's end.
    work: u32,
    other_work: u32,
    links_out: Range<u32>,
    links_in: Range<u32>,
    dates: Range<u32>,
    /// Whether it follows another in its field, and whether one follows it.
    pub(in super::super) follows: bool,
    pub(in super::super) is_followed: bool,
}

impl JobPlan {
    pub(in super::super) fn row(&self) -> usize {
        self.row as usize
    }

    pub(in super::super) fn lot(&self) -> usize {
        self.lot as usize
    }

    pub(in super::super) fn field(&self) -> usize {
        self.field as usize
    }

    pub(in super::super) fn word(&self) -> usize {
        self.word as usize
    }
}

/// What jobs have several of, all jobs' in a row.
#[derive(Debug, Clone, Default)]
pub(super) struct Shared {
    work: Vec<JobWork>,
    links: Vec<u32>,
    dates: Vec<u32>,
}

impl Plan {
    /// How long the whole of a job takes the outfit of a choice; `other` where straw is not treated as usual.
    pub(in super::super) fn work(&self, job: usize, choice: usize, other: bool) -> JobWork {
        let of = &self.jobs[job];
        self.shared.work[if other { of.other_work } else { of.work } as usize + choice]
    }

    /// Links to what comes after a job.
    pub(in super::super) fn links_out(&self, job: usize) -> impl Iterator<Item = usize> + use<'_> {
        of_range(&self.shared.links, &self.jobs[job].links_out)
    }

    /// Links to what comes before a job.
    pub(in super::super) fn links_in(&self, job: usize) -> impl Iterator<Item = usize> + use<'_> {
        of_range(&self.shared.links, &self.jobs[job].links_in)
    }

    /// Jobs whose windows are counted from a job's end.
    pub(in super::super) fn dated_by(&self, job: usize) -> impl Iterator<Item = usize> + use<'_> {
        of_range(&self.shared.dates, &self.jobs[job].dates)
    }
}

fn of_range<'a>(all: &'a [u32], range: &Range<u32>) -> impl Iterator<Item = usize> + use<'a> {
    all[range.start as usize..range.end as usize].iter().map(|index| *index as usize)
}

pub(super) fn rows(farm: &Farm, hours: &Hours) -> Vec<RowPlan> {
    let of = |(index, row): (usize, &Row)| {
        let lots = farm.lots.iter().enumerate().filter(|(_, lot)| lot.row == index);
        let units = row.outfits.iter().map(|outfit| match farm.outfits[*outfit].units.as_slice() {
            [unit] => Some(unit.clone()),
            _ => None,
        });
        let units: Vec<Unit> = units.collect::<Option<_>>().unwrap_or_default();
        let drivers = units.iter().map(|unit| unit.drivers).try_fold(0, |all, of| Some(all | of?));
        RowPlan {
            hours: hours.of_row[index],
            class: row.class,
            dated: row.dates.is_some(),
            lots: lots.map(|(lot, _)| lot).collect(),
            drivers: drivers.unwrap_or(0),
            units,
        }
    };
    farm.rows.iter().enumerate().map(of).collect()
}

pub(super) fn lots(farm: &Farm, hours: &Hours, pairs: &[Pair]) -> Vec<LotPlan> {
    let distance_km = |job: &u32| farm.fields[farm.jobs[*job as usize].field].distance_km;
    let mut word = 0;
    let of = |(index, lot): (usize, &Lot)| {
        let of_lot = farm.jobs.iter().enumerate().filter(|(_, job)| job.lot == index);
        let mut jobs: Vec<u32> = of_lot.map(|(job, _)| job as u32).collect();
        jobs.sort_by(|one, other| distance_km(one).total_cmp(&distance_km(other)).then(one.cmp(other)));
        let first = word;
        word += jobs.len().div_ceil(64);
        LotPlan {
            row: lot.row,
            key: lot.key,
            hours: hours.of_row[lot.row],
            pair: pairs
                .iter()
                .position(|pair| pair.hours == hours.of_row[lot.row] && pair.key == lot.key)
                .unwrap_or_default(),
            jobs,
            words: first..word,
        }
    };
    farm.lots.iter().enumerate().map(of).collect()
}

pub(super) fn jobs(farm: &Farm, lots: &[LotPlan]) -> (Vec<JobPlan>, Shared) {
    let mut places = vec![0; farm.jobs.len()];
    for lot in lots {
        for (place, job) in lot.jobs.iter().enumerate() {
            places[*job as usize] = place;
        }
    }
    let follower = |links: &[usize]| links.iter().any(|link| farm.links[*link].follow_ha.is_some());
    let mut shared = Shared::default();
    let of = |(job, place): (&Job, &usize)| {
        let work = shared.work.len() as u32;
        shared.work.extend(&job.work);
        let other_work = if job.other_work.is_empty() { work } else { shared.work.len() as u32 };
        shared.work.extend(&job.other_work);
        JobPlan {
            row: job.row as u32,
            lot: job.lot as u32,
            field: job.field as u32,
            word: (lots[job.lot].words.start + place / 64) as u32,
            bit: 1 << (place % 64),
            work,
            other_work,
            links_out: appended(&mut shared.links, &job.links_out),
            links_in: appended(&mut shared.links, &job.links_in),
            dates: appended(&mut shared.dates, &job.dated_by),
            follows: follower(&job.links_in),
            is_followed: follower(&job.links_out),
        }
    };
    let jobs = farm.jobs.iter().zip(&places).map(of).collect();
    (jobs, shared)
}

fn appended(all: &mut Vec<u32>, own: &[usize]) -> Range<u32> {
    let start = all.len() as u32;
    all.extend(own.iter().map(|index| *index as u32));
    start..all.len() as u32
}
