//! What the season looks up of rows, lots and jobs, all of one thing in one place.

use std::ops::Range;

use super::hours::{Hours, Pair};
use crate::farm::{Farm, Unit};

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

/// A job.
#[derive(Debug, Clone, Copy)]
pub(in super::super) struct JobPlan {
    pub(in super::super) row: usize,
    pub(in super::super) lot: usize,
    pub(in super::super) field: usize,
    /// Where it is marked among the jobs of its lot.
    pub(in super::super) word: usize,
    pub(in super::super) bit: u64,
    /// Links that it has to wait for at first.
    pub(in super::super) links_in: u16,
    /// Whether it follows another in its field, and whether one follows it.
    pub(in super::super) follows: bool,
    pub(in super::super) is_followed: bool,
}

pub(super) fn rows(farm: &Farm, hours: &Hours) -> Vec<RowPlan> {
    let of = |(index, row): (usize, &crate::farm::Row)| {
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
    let of = |(index, lot): (usize, &crate::farm::Lot)| {
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

pub(super) fn jobs(farm: &Farm, lots: &[LotPlan]) -> Vec<JobPlan> {
    let mut places = vec![0; farm.jobs.len()];
    for lot in lots {
        for (place, job) in lot.jobs.iter().enumerate() {
            places[*job as usize] = place;
        }
    }
    let follower = |links: &[usize]| links.iter().any(|link| farm.links[*link].follow_ha.is_some());
    let of = |(job, place): (&crate::farm::Job, &usize)| JobPlan {
        row: job.row,
        lot: job.lot,
        field: job.field,
        word: lots[job.lot].words.start + place / 64,
        bit: 1 << (place % 64),
        links_in: job.links_in.len() as u16,
        follows: follower(&job.links_in),
        is_followed: follower(&job.links_out),
    };
    farm.jobs.iter().zip(&places).map(of).collect()
}
