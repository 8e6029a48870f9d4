//! A plain farm of several crops by hand: one machine and one driver to each operation, no way to go, a chain of
//! operations on every field, any number of fields, crops and soils. The loop that a careful person writes for this
//! kind of farm. Unlike [`plain`](crate::plain), where fields are worked in one order known beforehand, it chooses
//! every morning and at every finish which crop on which soil comes first, and keeps every job's account.
//!
//! What it leaves out is the season's generality: outfits of several units and their choice, ways, followers, lags,
//! supply, other windows than dates, hours that change, calling away, fallbacks, policies.

mod day;
mod year;

use crate::plain::{Found, NEVER, OPERATIONS};

/// No job.
const NONE: u32 = u32::MAX;

/// A field of the farm.
#[derive(Debug, Clone, Copy)]
pub struct CropField {
    /// Its crop and its soil (of at most 32).
    pub crop: usize,
    /// Its soil.
    pub soil: usize,
    /// Its area in ha.
    pub area_ha: f64,
    /// Seconds of work by operation.
    pub work_s: [i64; OPERATIONS],
}

/// The farm in numbers.
#[derive(Debug, Clone)]
pub struct CropFarm {
    /// How many crops there are.
    pub crops: usize,
    /// How many soils there are.
    pub soils: usize,
    /// The fields; of equals the first comes first.
    pub fields: Vec<CropField>,
    /// First second and end of each operation's hours.
    pub hours: [(i64, i64); OPERATIONS],
    /// By crop, each operation's first and due day of the season.
    pub window: Vec<[(usize, usize); OPERATIONS]>,
    /// By crop, the last day; what is left then is abandoned. Before the season's last day.
    pub latest: Vec<usize>,
    /// Chance of a suitable day by key (operation x soil) and day.
    pub p: Vec<Vec<f64>>,
    /// The half-month of each day.
    pub half_month: Vec<usize>,
}

/// A job's season: `finish - ready = work_s + waits_s` to the second.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Account {
    /// When its window opened.
    pub ready: i64,
    /// When it was done or given up.
    pub finish: i64,
    /// Whether it was done.
    pub done: bool,
    /// Seconds of work.
    pub work_s: i64,
    /// Seconds of waiting: outside its hours, on days that do not suit, for the operation before, for the driver.
    pub waits_s: [i64; 4],
}

/// What happens to a row (an operation of a crop) at midnight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Change {
    Ends,
    WasDue,
    Opens,
}

/// An operation of a crop on its way through the season.
#[derive(Debug, Clone, Copy)]
struct Row {
    /// Soils on which it has jobs left, and jobs that are ready; none before its window opens.
    left: u32,
    ready: u32,
    /// Seconds of work left, those of jobs in hand as when they were taken up.
    needed_s: i64,
    /// Open seconds of days that suit a soil on which jobs are left; of these, worked, and waited for the driver.
    span_s: i64,
    worked_s: i64,
    people_s: i64,
    /// Today, since when it has waited for the driver.
    waits_since: i64,
    /// After the due day: the area undone, and since when it has been so.
    undone_ha: f64,
    undone_since: i64,
}

/// An operation of a crop on one soil.
#[derive(Debug, Clone, Copy)]
struct Lot {
    /// The job begun and not done, and its seconds left.
    begun: u32,
    left_s: i64,
    /// The day on whose list it stands.
    listed: u32,
    /// Suitable days before its window opened.
    suited_before: i64,
}

/// A lot of which nothing is begun or listed.
const NO_LOT: Lot = Lot { begun: NONE, left_s: 0, listed: NONE, suited_before: 0 };

/// A lot on today's list.
#[derive(Debug, Clone, Copy)]
struct Listed {
    rank: f64,
    /// Among equals a field that is begun comes first, then by number: [`FRESH`] and the field's number.
    tie: u32,
    lot: u32,
    crop: u16,
    soil: u16,
}

/// Marks a field that is not begun.
const FRESH: u32 = 1 << 31;

impl Listed {
    fn comes_before(&self, other: &Self) -> bool {
        self.rank < other.rank || self.rank == other.rank && self.tie < other.tie
    }
}

/// A field on which an operation was done today, so that the next may begin.
#[derive(Debug, Clone, Copy)]
struct Release {
    at: i64,
    /// When that day's work on it began: what ends at one second is told in this order.
    began: i64,
    place: u32,
}

/// An operation's day.
#[derive(Debug, Clone, Copy)]
struct Today {
    operation: usize,
    day: usize,
    /// Soils that it suits.
    suits: u32,
    /// Its hours.
    begin: i64,
    end: i64,
    /// Chance of a suitable day of the scarcest later work that was ready in the morning and that today suits.
    p_later: f64,
}

/// Works seasons of the farm one after another, in memory that it keeps.
#[derive(Debug)]
pub struct ByHand<'f> {
    farm: &'f CropFarm,
    /// Fields in the order of crop, soil and number: their number, area, work, and first place of each crop and soil.
    field: Vec<u32>,
    area_ha: Vec<f64>,
    work_s: [Vec<i64>; OPERATIONS],
    first: Vec<u32>,
    /// Where the marks of each crop and soil begin, in words of 64; all marks set.
    first_word: Vec<u32>,
    all: Vec<u64>,
    /// By crop: soils on which it stands.
    soils_of: Vec<u32>,
    /// By key: expected suitable seconds before each day.
    expected: Vec<Vec<f64>>,
    /// Rows as they are before the first day, and what happens to them, by day.
    fresh_rows: Vec<Row>,
    changes: Vec<(usize, Change, usize)>,
    rows: Vec<Row>,
    lots: Vec<Lot>,
    /// Marks of the jobs not done, and of those that are ready and not begun.
    left: Vec<u64>,
    ready: Vec<u64>,
    /// From each operation's first day to its last due day.
    judged: [(usize, usize); OPERATIONS],
    /// Soils that each day suits, by operation and day.
    suits: [Vec<u32>; OPERATIONS],
    /// By key: suitable days so far on which the operation had an open window.
    suited: Vec<i64>,
    /// Rows with an open window and jobs left, by operation.
    open: [u32; OPERATIONS],
    list: Vec<Listed>,
    released: Vec<Release>,
    releases: Vec<Release>,
    accounts: Vec<Account>,
    /// The last season's figures, by operation and crop.
    pub found: Vec<Found>,
    /// Seconds in use of each operation's machine, which are its driver's, by half-month.
    pub use_s: [Vec<i64>; OPERATIONS],
}

impl<'f> ByHand<'f> {
    /// A worker.
    #[must_use]
    pub fn new(farm: &'f CropFarm) -> Self {
        let CropFarm { crops, soils, .. } = *farm;
        let days = farm.half_month.len();
        let lot_of = |field: u32| farm.fields[field as usize].crop * soils + farm.fields[field as usize].soil;
        let mut field: Vec<u32> = (0..farm.fields.len() as u32).collect();
        field.sort_by_key(|field| lot_of(*field));
        let (mut first, mut first_word) = (vec![0; crops * soils + 1], vec![0; crops * soils + 1]);
        let mut all = Vec::new();
        let mut soils_of = vec![0; crops];
        for lot in 0..crops * soils {
            let count = field.iter().filter(|field| lot_of(**field) == lot).count();
            soils_of[lot / soils] |= u32::from(count > 0) << (lot % soils);
            first[lot + 1] = first[lot] + count as u32;
            all.extend((0..count).step_by(64).map(|word| u64::MAX >> (64 - (count - word).min(64))));
            first_word[lot + 1] = all.len() as u32;
        }
        let of = |field: &u32| &farm.fields[*field as usize];
        let mut fresh_rows = Vec::new();
        let mut changes = Vec::new();
        for operation in 0..OPERATIONS {
            for crop in 0..crops {
                let its = farm.fields.iter().filter(|field| field.crop == crop);
                fresh_rows.push(Row {
                    left: 0,
                    ready: 0,
                    needed_s: its.map(|field| field.work_s[operation]).sum(),
                    span_s: 0,
                    worked_s: 0,
                    people_s: 0,
                    waits_since: NEVER,
                    undone_ha: 0.0,
                    undone_since: NEVER,
                });
                let row = operation * crops + crop;
                let (from, due) = farm.window[crop][operation];
                changes.push((from, Change::Opens, row));
                changes.push((due + 1, Change::WasDue, row));
                changes.push((farm.latest[crop] + 1, Change::Ends, row));
            }
        }
        changes.sort_unstable();
        let expected = farm.p.iter().enumerate().map(|(key, p)| {
            let (begin, end) = farm.hours[key / soils];
            let mut sum = 0.0;
            let mut before = vec![0.0];
            for p in p {
                sum += p * (end - begin) as f64;
                before.push(sum);
            }
            before
        });
        let half_months = farm.half_month.last().map_or(0, |last| last + 1);
        Self {
            farm,
            area_ha: field.iter().map(|field| of(field).area_ha).collect(),
            work_s: std::array::from_fn(|operation| {
                field.iter().map(|field| of(field).work_s[operation]).collect()
            }),
            expected: expected.collect(),
            rows: fresh_rows.clone(),
            fresh_rows,
            changes,
            lots: vec![NO_LOT; OPERATIONS * crops * soils],
            left: vec![0; OPERATIONS * all.len()],
            ready: vec![0; OPERATIONS * all.len()],
            judged: std::array::from_fn(|operation| {
                let dates = farm.window.iter().map(|window| window[operation]);
                let (from, due) = (dates.clone().map(|dates| dates.0), dates.map(|dates| dates.1));
                (from.min().unwrap_or(0), due.max().unwrap_or(0))
            }),
            suits: std::array::from_fn(|_| vec![0; days + 1]),
            suited: vec![0; OPERATIONS * soils],
            open: [0; OPERATIONS],
            list: Vec::with_capacity(crops * soils),
            released: Vec::with_capacity(field.len()),
            releases: Vec::with_capacity(field.len()),
            accounts: vec![Account::default(); OPERATIONS * field.len()],
            found: vec![Found::default(); OPERATIONS * crops],
            use_s: std::array::from_fn(|_| vec![0; half_months]),
            field,
            first,
            first_word,
            all,
            soils_of,
        }
    }

    /// The last season's accounts: operation, field, account.
    pub fn accounts(&self) -> impl Iterator<Item = (usize, usize, &Account)> {
        let fields = self.field.len();
        let of = move |index: usize| (index / fields, self.field[index % fields] as usize);
        self.accounts.iter().enumerate().map(move |(index, account)| (of(index).0, of(index).1, account))
    }
}
