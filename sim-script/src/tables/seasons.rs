//! seasons.csv, written while the seasons are worked: it holds every season, memory holds none.

use super::column::SEASONS;
use super::folder::{Csv, OutError, OutFolder};
use crate::words::number;
use sim_core::season::{DAY, Outcome};
use sim_core::study::{Sink, Variant};
use sim_core::weather::Weather;
use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Writes each season as it comes.
#[derive(Debug)]
pub struct SeasonsTable<'s> {
    csv: Csv,
    variants: Vec<Names>,
    seed: u64,
    failed: Option<io::Error>,
    stop: &'s AtomicBool,
}

/// What every season repeats of a variant.
#[derive(Debug)]
struct Names {
    variant: String,
    weather: Arc<Weather>,
    /// Crop and operation of each row, and whether it has area whatever happens.
    rows: Vec<(String, String, bool)>,
    dates: Vec<String>,
}

impl<'s> SeasonsTable<'s> {
    /// Begins the table of seasons under a seed. If it can no longer be written, `stop` turns true.
    ///
    /// # Errors
    ///
    /// When no file can be begun.
    pub fn begin(
        out: &OutFolder,
        variants: &[Variant],
        seed: u64,
        stop: &'s AtomicBool,
    ) -> Result<Self, OutError> {
        let names = |variant: &Variant| {
            let farm = variant.plan.farm();
            let rows = farm.rows.iter();
            Names {
                variant: variant.name.clone(),
                weather: variant.weather.clone(),
                rows: rows
                    .map(|row| (farm.crops[row.crop].clone(), row.operation.clone(), row.area_ha > 0.0))
                    .collect(),
                dates: (0..farm.span.days()).map(|day| farm.span.date(day).to_string()).collect(),
            }
        };
        let variants = variants.iter().map(names).collect();
        Ok(Self { csv: out.begin(&SEASONS)?, variants, seed, failed: None, stop })
    }

    /// Hands the whole table in.
    ///
    /// # Errors
    ///
    /// When some of it could not be written.
    pub fn keep(self, out: &mut OutFolder) -> Result<(), OutError> {
        match self.failed {
            Some(error) => Err(out.error(SEASONS.name, error)),
            None => out.keep(&SEASONS, self.csv),
        }
    }

    fn write(&mut self, variant: usize, outcome: &Outcome) -> csv::Result<()> {
        let names = &self.variants[variant];
        let season = outcome.season.to_string();
        let year = names.weather.year_of(self.seed, outcome.season);
        let year = year.map_or_else(String::new, |year| year.to_string());
        for (row, (crop, operation, always)) in outcome.rows.iter().zip(&names.rows) {
            // 0: there was nothing to do, or it was not due within the season.
            let nothing = row.finish == Some(0);
            if nothing && !always {
                continue;
            }
            let finish = match row.finish {
                None => super::NEVER,
                Some(_) if nothing => "",
                Some(finish) => {
                    let day = (finish - 1).div_euclid(DAY).max(0) as usize;
                    &names.dates[day.min(names.dates.len() - 1)]
                }
            };
            csv_row(&mut self.csv, [&names.variant, &season, &year, crop, operation, finish])?;
            self.csv.write_field(row.days_late.to_string())?;
            self.csv.write_field(number(row.area_late_ha, 4))?;
            self.csv.write_field(number(row.area_unfinished_ha, 4))?;
            self.csv.write_field(row.suitable_days.map_or_else(String::new, |days| days.to_string()))?;
            self.csv.write_record(None::<&[u8]>)?;
        }
        Ok(())
    }
}

fn csv_row(csv: &mut Csv, fields: [&str; 6]) -> csv::Result<()> {
    fields.iter().try_for_each(|field| csv.write_field(field))
}

impl Sink for SeasonsTable<'_> {
    fn season(&mut self, variant: usize, outcome: &Outcome) {
        if self.failed.is_none()
            && let Err(error) = self.write(variant, outcome)
        {
            self.failed = Some(error.into());
            self.stop.store(true, Ordering::Relaxed);
        }
    }
}
