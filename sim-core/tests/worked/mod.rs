//! A season that is looked at whole: its outcome, every job's account and what happened.
// A helper of a test may fail as the test itself may, and no test needs all of them.
#![allow(clippy::unwrap_used, dead_code, unreachable_pub)]

use sim_core::farm::Farm;
use sim_core::kernel::Log;
use sim_core::season::{DAY, Entry, JobAccount, Outcome, Plan, Policy, Season};
use sim_core::weather::Sky;

pub struct Worked {
    pub outcome: Outcome,
    pub accounts: Vec<JobAccount>,
    pub log: Vec<(i64, Entry)>,
}

/// A sky on which `suitable` says which days suit every class.
pub fn sky_of(farm: &Farm, suitable: impl Fn(usize) -> bool) -> Sky {
    let days: Vec<bool> = (0..farm.weather.span_days).map(suitable).collect();
    Sky::from_days(&vec![days; farm.weather.keys.len()])
}

/// Works season 0, and holds every account to the second.
pub fn work_under(plan: &Plan, policy: &mut impl Policy, sky: &Sky) -> Worked {
    let mut season = Season::new(plan);
    let mut log = Log::default();
    let outcome = season.work_traced(0, sky, policy, &mut log).unwrap().clone();
    let accounts: Vec<JobAccount> = season.accounts().collect();
    for account in &accounts {
        if let (Some(ready), Some(finish)) = (account.ready, account.finish) {
            let waits: i64 = account.waits_s.iter().sum();
            assert_eq!(finish - ready, account.work_s + account.travel_s + waits, "{account:?}");
        }
    }
    Worked { outcome, accounts, log: log.rows }
}

/// An hour of a day of the season, in seconds.
pub fn at(day: i64, hour: f64) -> i64 {
    day * DAY + (hour * 3600.0) as i64
}
