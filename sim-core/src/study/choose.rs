//! Which farm has least of something, worked out with seasons for those only that can still be it.
//!
//! What lives here: workers, batches of seasons, and who is worked on. When a farm drops out is
//! [`select`](super::select)'s.

use super::bulk::{Hooks, PolicyMaker, Study};
use super::select::{Selection, SelectionRule};
use crate::season::{Outcome, Season, SeasonError};
use crate::weather::Sky;
use std::ops::Range;
use std::sync::atomic::Ordering;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};

/// Seasons of a batch: so many that the mean of a share is near normal; the next batch begins where this one ends.
pub const BATCH: u64 = 64;

/// Seasons that a worker takes at a time. A batch is a whole number of them.
const TASK: u64 = 4;

/// What is least, of a season of the variant of an index.
pub type Measure<'m> = dyn Fn(usize, &Outcome) -> f64 + Sync + 'm;

/// Which farm was chosen, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct Chosen {
    /// How many seasons those left were worked.
    pub seasons: u64,
    /// Seasons worked, those of every farm counted.
    pub season_runs: u64,
    /// The variants left, in ascending order: one, or several that were alike to the last; more where the seasons did
    /// not suffice.
    pub left: Vec<usize>,
    /// The variants that dropped out, in that order.
    pub dropped: Vec<DroppedFarm>,
    /// Each variant's mean over the seasons that it was worked.
    pub means: Vec<f64>,
    /// Whether the choice was made: neither stopped before, nor out of seasons.
    pub made: bool,
}

/// A farm that dropped out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DroppedFarm {
    /// Index of the variant.
    pub variant: usize,
    /// After how many seasons.
    pub seasons: u64,
    /// The variant that had least then.
    pub behind: usize,
    /// The mean of that one then.
    pub least_mean: f64,
}

/// Some seasons of those left.
struct Task {
    number: usize,
    seasons: Range<u64>,
    left: Arc<[usize]>,
}

/// What they came to: the sum of each one left.
struct Answer {
    number: usize,
    sums: Result<Vec<f64>, SeasonError>,
}

impl Study {
    /// Works seasons 0, 1, ... in batches of [`BATCH`] under the same skies until it is known which variant has least
    /// of `measure` on average, each batch only with the variants that are left, and at most as many batches as
    /// [`Study::seasons`](Study) holds. The same for any number of threads. Of the hooks the sink is told nothing; a
    /// stop ends it after the batch in hand.
    ///
    /// # Errors
    ///
    /// When a policy cannot decide: the first such season's error.
    ///
    /// # Panics
    ///
    /// If a variant's weather has fewer keys or days than its farm.
    pub fn choose<M: PolicyMaker>(
        &self,
        maker: &M,
        rule: SelectionRule,
        measure: &Measure<'_>,
        mut hooks: Hooks<'_>,
    ) -> Result<Chosen, SeasonError> {
        let mut choice = Selection::new(self.variants.len(), rule);
        let (mut season_runs, mut made) = (0, false);
        let threads = self.threads.clamp(1, (BATCH / TASK) as usize);
        std::thread::scope(|scope| {
            // Once `ask` goes, at the end of this scope or at an error, the workers find no more and leave.
            let (ask, asked) = channel();
            let (tell, told) = channel();
            let asked = Arc::new(Mutex::new(asked));
            for _ in 0..threads {
                let (asked, tell) = (Arc::clone(&asked), tell.clone());
                scope.spawn(move || self.work_tasks(maker, measure, &asked, tell));
            }
            drop(tell);
            for batch in 0..self.seasons / BATCH {
                if made || hooks.stop.is_some_and(|stop| stop.load(Ordering::Relaxed)) {
                    break;
                }
                let left: Arc<[usize]> = choice.left().into();
                let Some(sums) = one_batch(batch, &left, &ask, &told)? else { break };
                season_runs += BATCH * left.len() as u64;
                let means: Vec<f64> = sums.iter().map(|sum| sum / BATCH as f64).collect();
                made = choice.take(&means);
                if let Some(progress) = &mut hooks.progress {
                    progress(choice.batches() * BATCH);
                }
            }
            Ok(())
        })?;
        let dropped = choice.dropped().iter().map(|of| DroppedFarm {
            variant: of.which,
            seasons: of.batches * BATCH,
            behind: of.behind,
            least_mean: of.least_mean,
        });
        Ok(Chosen {
            seasons: choice.batches() * BATCH,
            season_runs,
            left: choice.left().to_vec(),
            dropped: dropped.collect(),
            means: (0..self.variants.len()).map(|variant| choice.mean(variant)).collect(),
            made,
        })
    }

    /// A worker: works what is asked for until there is no more.
    fn work_tasks<M: PolicyMaker>(
        &self,
        maker: &M,
        measure: &Measure<'_>,
        asked: &Mutex<Receiver<Task>>,
        tell: Sender<Answer>,
    ) {
        let _leaving = Leaving(&tell);
        let sky_of = self.sky_of();
        let mut seasons: Vec<Season<'_>> =
            self.variants.iter().map(|variant| Season::new(&variant.plan)).collect();
        let mut policies: Vec<M::Policy> =
            (0..self.variants.len()).map(|variant| maker.make(variant)).collect();
        let mut skies = vec![Sky::default(); self.variants.len()];
        loop {
            let task = asked.lock().unwrap_or_else(PoisonError::into_inner).recv();
            let Ok(task) = task else { break };
            let mut sums = vec![0.0; task.left.len()];
            let mut work = || -> Result<(), SeasonError> {
                for season in task.seasons.clone() {
                    // The first variant of a sky may have dropped out.
                    let mut drawn = vec![false; skies.len()];
                    for (sum, variant) in sums.iter_mut().zip(task.left.iter().copied()) {
                        let sky = sky_of[variant];
                        if !std::mem::replace(&mut drawn[sky], true) {
                            self.variants[sky].weather.draw(self.seed, season, &mut skies[sky]);
                        }
                        let outcome = seasons[variant].work(season, &skies[sky], &mut policies[variant])?;
                        *sum += measure(variant, outcome);
                    }
                }
                Ok(())
            };
            let worked = work();
            let answer = Answer { number: task.number, sums: worked.map(|()| sums) };
            if tell.send(answer).is_err() {
                break;
            }
        }
    }
}

/// Works a batch: the sum of each one left, nothing if a worker is lost.
fn one_batch(
    batch: u64,
    left: &Arc<[usize]>,
    ask: &Sender<Task>,
    told: &Receiver<Answer>,
) -> Result<Option<Vec<f64>>, SeasonError> {
    let tasks = (BATCH / TASK) as usize;
    for number in 0..tasks {
        let first = batch * BATCH + number as u64 * TASK;
        let task = Task { number, seasons: first..first + TASK, left: Arc::clone(left) };
        if ask.send(task).is_err() {
            return Ok(None);
        }
    }
    let mut answers: Vec<Option<Result<Vec<f64>, SeasonError>>> = (0..tasks).map(|_| None).collect();
    for _ in 0..tasks {
        match told.recv() {
            Ok(answer) if answer.number < tasks => answers[answer.number] = Some(answer.sums),
            _ => return Ok(None),
        }
    }
    // In the order of the seasons, whoever worked them.
    let mut sums = vec![0.0; left.len()];
    for answer in answers.into_iter().flatten() {
        sums.iter_mut().zip(answer?).for_each(|(sum, more)| *sum += more);
    }
    Ok(Some(sums))
}

/// A worker's presence: if it panics, the one who waits for its answer is told.
struct Leaving<'t>(&'t Sender<Answer>);

impl Drop for Leaving<'_> {
    fn drop(&mut self) {
        if std::thread::panicking() {
            // If nobody waits any more there is nobody to tell.
            let _ = self.0.send(Answer { number: usize::MAX, sums: Ok(Vec::new()) });
        }
    }
}
