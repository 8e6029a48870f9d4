//! From the fit of a record to the numbers by day that skies are drawn from.

use super::{DriverFit, Law, RecordFit};
use crate::weather::calendar::Span;
use crate::weather::error::WeatherError;
use crate::weather::spec::{DriverSpec, KeySpec};
use crate::weather::table::{PeriodValue, daily_means, daily_rises, daily_steps};

impl RecordFit {
    /// A driver over the days of a season; independent days where the record says too little.
    ///
    /// # Errors
    /// When the fit's numbers describe no weather, which a record's cannot.
    pub fn driver_spec(&self, name: &str, span: Span) -> Result<DriverSpec, WeatherError> {
        Ok(DriverSpec {
            name: name.to_owned(),
            agreement: 1.0,
            rho: self.by_day(name, span, |_, law| law.rho)?,
            kappa: self.by_day(name, span, |_, law| law.kappa())?,
        })
    }

    /// The key of a rule over the days of a season, its driver called `name` and of index `driver`.
    ///
    /// # Errors
    /// As [`driver_spec`](Self::driver_spec).
    ///
    /// # Panics
    /// When there is no such rule.
    pub fn key_spec(
        &self,
        rule: usize,
        name: &str,
        driver: usize,
        span: Span,
    ) -> Result<KeySpec, WeatherError> {
        let key = &self.keys[rule];
        let phi = |part: usize, law: &Law| key.spread[part].unwrap_or(law.phi);
        Ok(KeySpec {
            driver,
            p: daily_means(key.shares.rows(), span)?,
            phi: self.by_day(name, span, phi)?,
            shut: key.shut.as_ref().map(|shut| daily_rises(shut.rows(), span)).transpose()?,
            hours: None,
        })
    }

    /// A value for each day, from a driver's law in the part of the year, the parts counted from 0.
    fn by_day(
        &self,
        name: &str,
        span: Span,
        value: impl Fn(usize, &Law) -> f64,
    ) -> Result<Vec<f64>, WeatherError> {
        let parts = self.drivers.iter().filter(|of| of.driver == name).enumerate();
        let row = |(part, of): (usize, &DriverFit)| PeriodValue {
            from: of.from,
            to: of.to,
            value: value(part, &of.law.unwrap_or(Law::INDEPENDENT)),
        };
        daily_steps(&parts.map(row).collect::<Vec<_>>(), span, 0.0)
    }
}
