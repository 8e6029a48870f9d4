//! Where the work stands on the morning on which a season is taken up.

use sim_core::farm::Row;
use sim_core::season::{DAY, JobAccount, Manager, Plan, Season};
use sim_core::weather::Sky;

/// How a job stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::cli) enum Standing {
    /// All of it is done.
    Done,
    /// Past its last day, or without the work that it needs: it stays as it is.
    GivenUp,
    /// Still to be done.
    Open,
    /// There only if other work is given up, of which none is left to give up.
    Asleep,
}

/// How each job stands on that morning; nothing where seasons are worked from their first day.
///
/// What was done and given up by then is the same under every sky: a season without a suitable day tells it.
pub(in crate::cli) fn standing(plan: &Plan) -> Vec<Standing> {
    let farm = plan.farm();
    let Some(begun) = farm.begun.as_ref().filter(|begun| begun.day > 0) else { return Vec::new() };
    let sky = Sky::new(farm.weather.keys.len(), farm.weather.span_days);
    let mut season = Season::new(plan);
    if season.work(0, &sky, &mut Manager).is_err() {
        return vec![Standing::Open; farm.jobs.len()];
    }
    let today = i64::from(begun.day) * DAY;
    let choices = || farm.choices.iter().enumerate();
    let undecided = |job: usize| {
        choices().any(|(index, choice)| {
            choice.jobs.contains(&job) && begun.decided.iter().all(|(decided, _)| *decided != index)
        })
    };
    let of = |(job, account): (usize, JobAccount)| match account.finish {
        Some(finish) if finish <= today && account.done => Standing::Done,
        Some(finish) if finish <= today => Standing::GivenUp,
        None if !undecided(job) => Standing::Asleep,
        _ => Standing::Open,
    };
    season.accounts().enumerate().map(of).collect()
}

/// Whether nothing of a row is left to be told: each of its jobs is done or given up by that morning.
pub(in crate::cli) fn settled(plan: &Plan) -> Vec<bool> {
    let standing = standing(plan);
    let farm = plan.farm();
    // A window that moves opens and ends on other days in other seasons.
    let row = |row: &Row| {
        let over = |job: &usize| match standing[*job] {
            Standing::Done | Standing::Asleep => true,
            Standing::GivenUp => row.stage.is_none(),
            Standing::Open => false,
        };
        !standing.is_empty() && row.jobs.iter().all(over)
    };
    farm.rows.iter().map(row).collect()
}
