//! From what a person says is done to what is: areas are put down to fields, choices are settled, and what must have been
//! done for what is said is taken as done too, and marked so. Nobody drills what is not ploughed, and nobody ploughs what is
//! not combined.

use super::begun::{Begun, BegunError, BegunErrorKind, BegunSpec, Done, Known, Way};
use super::model::{ChoiceOf, Farm, Window};

/// Areas in ha closer than this are the same.
const SAME_HA: f64 = 1e-6;

/// What is done on a farm, from what is said.
pub(super) fn begun(farm: &Farm, spec: &BegunSpec) -> Result<Begun, BegunError> {
    let said = vec![None; farm.jobs.len()];
    Beginning { farm, said, depth: depths(farm), last_of: Vec::new() }.of(spec)
}

/// For each job how many come before it at most, one after another.
fn depths(farm: &Farm) -> Vec<u32> {
    let mut depths = vec![0; farm.jobs.len()];
    // Links make no circles, so that this comes to rest.
    loop {
        let mut changed = false;
        for link in &farm.links {
            if depths[link.after] <= depths[link.before] {
                depths[link.after] = depths[link.before] + 1;
                changed = true;
            }
        }
        if !changed {
            return depths;
        }
    }
}

/// What is known of a job on the way.
#[derive(Debug, Clone, Copy)]
struct Said {
    entry: usize,
    day: u32,
    area_ha: f64,
    known: Known,
}

struct Beginning<'a> {
    farm: &'a Farm,
    said: Vec<Option<Said>>,
    depth: Vec<u32>,
    /// For each entry the fields whose last one was done on its day; none where it is an area.
    last_of: Vec<Vec<usize>>,
}

impl Beginning<'_> {
    fn of(mut self, spec: &BegunSpec) -> Result<Begun, BegunError> {
        let farm = self.farm;
        let mut by_area: Vec<(usize, Vec<usize>, f64)> = Vec::new();
        let mut taken: Vec<Option<usize>> = vec![None; farm.jobs.len()];
        for (entry, done) in spec.done.iter().enumerate() {
            let wrong = |kind| BegunError { entry: Some(entry), kind };
            let jobs = farm.jobs_named(&done.crop, &done.operation, done.field.as_deref()).map_err(wrong)?;
            if done.day >= spec.today {
                return Err(wrong(BegunErrorKind::NotBeforeToday));
            }
            if let Some((job, first)) = jobs.iter().find_map(|job| taken[*job].map(|first| (*job, first))) {
                let what = farm.label(job, done.field.is_some());
                return Err(wrong(BegunErrorKind::Twice { what, first }));
            }
            jobs.iter().for_each(|job| taken[*job] = Some(entry));
            let all_ha: f64 = jobs.iter().map(|job| farm.jobs[*job].area_ha).sum();
            if let Some(area_ha) = done.area_ha
                && !(area_ha > 0.0 && area_ha <= all_ha + SAME_HA)
            {
                let what = farm.label(jobs[0], done.field.is_some());
                return Err(wrong(BegunErrorKind::Area { area_ha, all_ha, what }));
            }
            let some = done.area_ha.filter(|area_ha| *area_ha < all_ha - SAME_HA);
            let fields = jobs.iter().map(|job| farm.jobs[*job].field);
            self.last_of.push(if some.is_none() || jobs.len() == 1 { fields.collect() } else { Vec::new() });
            match some {
                Some(area_ha) if jobs.len() > 1 => by_area.push((entry, jobs, area_ha)),
                some => {
                    for job in jobs {
                        self.said[job] = Some(Said {
                            entry,
                            day: done.day,
                            area_ha: some.unwrap_or(farm.jobs[job].area_ha),
                            known: Known::Said,
                        });
                    }
                }
            }
        }
        // The last work of a chain first: where it was done, what comes before it was done too.
        by_area.sort_by_key(|(entry, jobs, _)| {
            (std::cmp::Reverse(jobs.iter().map(|job| self.depth[*job]).max()), *entry)
        });
        for (entry, jobs, area_ha) in by_area {
            self.spread(entry, jobs, area_ha, spec.done[entry].day);
        }
        let decided = self.decide()?;
        if spec.rest_done {
            self.assume_what_was_due(spec, &decided, &taken);
        }
        self.assume_what_comes_before(&decided)?;
        // What is assumed can settle more.
        let decided = self.decide()?;
        let mut done: Vec<Done> = Vec::new();
        for (job, said) in self.said.iter().enumerate() {
            let Some(said) = said else { continue };
            let area_ha = farm.jobs[job].area_ha;
            let whole = said.area_ha >= area_ha - SAME_HA;
            let done_ha = if whole { area_ha } else { said.area_ha };
            done.push(Done { job, day: said.day, area_ha: done_ha, whole, known: said.known });
        }
        done.sort_by_key(|of| (of.day, self.depth[of.job], of.job));
        Ok(Begun { day: spec.today, done, decided })
    }

    /// Puts an area down to fields: first to those on which later work is done, then to the nearest.
    fn spread(&mut self, entry: usize, mut jobs: Vec<usize>, area_ha: f64, day: u32) {
        let farm = self.farm;
        let distance_km = |job: usize| farm.fields[farm.jobs[job].field].distance_km;
        jobs.sort_by(|one, other| distance_km(*one).total_cmp(&distance_km(*other)).then(one.cmp(other)));
        let mut left_ha = area_ha;
        let mut shares = vec![0.0; jobs.len()];
        let needed: Vec<f64> = jobs.iter().map(|job| self.needed_ha(*job)).collect();
        let whole: Vec<f64> = jobs.iter().map(|job| farm.jobs[*job].area_ha).collect();
        for most in [&needed, &whole] {
            for (share, most) in shares.iter_mut().zip(most) {
                let more = (most - *share).clamp(0.0, left_ha);
                *share += more;
                left_ha -= more;
            }
        }
        for (job, share) in jobs.into_iter().zip(shares) {
            if share > SAME_HA {
                self.said[job] = Some(Said { entry, day, area_ha: share, known: Known::Said });
            }
        }
    }

    /// The area of a job without which what is said of later work cannot be.
    fn needed_ha(&self, job: usize) -> f64 {
        let farm = self.farm;
        let of_link = |link: &usize| {
            let link = &farm.links[*link];
            let later_ha =
                self.said[link.after].map_or_else(|| self.needed_ha(link.after), |said| said.area_ha);
            if later_ha > 0.0 && self.must_come_first(link) { self.first_ha(link, later_ha) } else { 0.0 }
        };
        farm.jobs[job].links_out.iter().map(of_link).fold(0.0, f64::max)
    }

    /// How much of a link's earlier job must be done for so much of the later one.
    fn first_ha(&self, link: &super::Link, later_ha: f64) -> f64 {
        let all_ha = self.farm.jobs[link.before].area_ha;
        if link.follow_ha.is_some() { later_ha.min(all_ha) } else { all_ha }
    }

    /// Whether the later work cannot be without the earlier: it is required, or was done to the crop that stood before.
    fn must_come_first(&self, link: &super::Link) -> bool {
        let crop = |job: usize| self.farm.rows[self.farm.jobs[job].row].crop;
        let fallback = |job: usize| self.farm.jobs[job].dormant && !self.farm.hangs_on_choice(job);
        (link.required || crop(link.before) != crop(link.after)) && !fallback(link.before)
    }

    /// The choices that are made by what is said.
    fn decide(&self) -> Result<Vec<(usize, Way)>, BegunError> {
        let farm = self.farm;
        let mut decided = Vec::new();
        for (index, choice) in farm.choices.iter().enumerate() {
            let begun = |job: &&usize| self.said[**job].is_some();
            let later = choice.jobs.iter().flat_map(|job| &farm.jobs[*job].links_out);
            let later: Vec<usize> = later.map(|link| farm.links[*link].after).collect();
            let straw = matches!(choice.of, ChoiceOf::Straw { .. });
            let settles = choice.jobs.iter().chain(&choice.reckoned).chain(&later);
            let settles = settles.chain(choice.after.iter().filter(|_| straw));
            if settles.filter(begun).count() == 0 {
                continue;
            }
            let ways: Vec<Way> = match choice.of {
                ChoiceOf::Straw { usual } => vec![Way::Straw(usual), Way::Straw(usual.other())],
                ChoiceOf::Tillage { usual } => {
                    let others = (0..super::spec::TILLAGE.len()).filter(|way| *way != usual);
                    std::iter::once(usual).chain(others).map(Way::Tillage).collect()
                }
            };
            let misfit =
                |way: &Way| choice.jobs.iter().filter(begun).find(|job| !farm.jobs[**job].goes_with(*way));
            match ways.iter().find(|way| misfit(way).is_none()) {
                Some(way) => decided.push((index, *way)),
                None => {
                    let job = misfit(&ways[0]).copied().unwrap_or_default();
                    let field = farm.fields[choice.field].name.clone();
                    let kind = BegunErrorKind::Ways { field, what: farm.label(job, false) };
                    return Err(BegunError {
                        entry: self.said[job].filter(|said| said.known == Known::Said).map(|said| said.entry),
                        kind,
                    });
                }
            }
        }
        Ok(decided)
    }

    /// Whether a job is done as things are decided; what is not decided is as usual.
    fn is_wanted(&self, job: usize, decided: &[(usize, Way)]) -> bool {
        let farm = self.farm;
        let mut own =
            decided.iter().filter(|(choice, _)| farm.choices[*choice].jobs.contains(&job)).peekable();
        if own.peek().is_none() {
            !farm.jobs[job].dormant
        } else {
            own.all(|(_, way)| farm.jobs[job].goes_with(*way))
        }
    }

    /// Takes as done, on its due day, all that was due before today; of what is said in part the rest is left.
    fn assume_what_was_due(&mut self, spec: &BegunSpec, decided: &[(usize, Way)], taken: &[Option<usize>]) {
        let farm = self.farm;
        let entry = self.last_of.len();
        self.last_of.push(Vec::new());
        let mut first_first: Vec<usize> = (0..farm.jobs.len()).collect();
        first_first.sort_by_key(|job| (self.depth[*job], *job));
        for job in first_first {
            let of = &farm.jobs[job];
            let due = match of.window {
                Window::Fixed { due, .. } => Some(due),
                Window::After { job: first, due, .. } => self.said[first].map(|said| said.day + due),
            };
            let is_open = self.said[job].is_none() && taken[job].is_none() && self.is_wanted(job, decided);
            if let Some(day) = due.filter(|due| *due < spec.today && is_open) {
                self.said[job] = Some(Said { entry, day, area_ha: of.area_ha, known: Known::WasDue });
            }
        }
    }

    /// Takes as done what must have come before what is said.
    fn assume_what_comes_before(&mut self, decided: &[(usize, Way)]) -> Result<(), BegunError> {
        let farm = self.farm;
        let mut last_first: Vec<usize> = (0..farm.jobs.len()).collect();
        last_first.sort_by_key(|job| (std::cmp::Reverse(self.depth[*job]), *job));
        for job in last_first {
            let Some(later) = self.said[job] else { continue };
            for link in &farm.jobs[job].links_in {
                let link = &farm.links[*link];
                let before = link.before;
                if !self.must_come_first(link) || !self.is_wanted(before, decided) {
                    continue;
                }
                let need_ha = self.first_ha(link, later.area_ha);
                match &mut self.said[before] {
                    Some(said) => {
                        // What follows in the same field may have been left with some to do.
                        let at_once =
                            link.follow_ha.is_some() && later.area_ha < farm.jobs[job].area_ha - SAME_HA;
                        let (fields, later_fields) = (&self.last_of[said.entry], &self.last_of[later.entry]);
                        let all_of =
                            !fields.is_empty() && fields.iter().all(|field| later_fields.contains(field));
                        if said.day > later.day && !at_once && said.known == Known::Said && all_of {
                            let one = fields.len() == 1;
                            let (earlier, later_label) = (farm.label(before, one), farm.label(job, one));
                            let kind = BegunErrorKind::Order { earlier, later: later_label };
                            return Err(BegunError { entry: Some(later.entry), kind });
                        }
                        if !at_once {
                            said.day = said.day.min(later.day);
                        }
                        if said.area_ha < need_ha - SAME_HA {
                            said.area_ha = need_ha;
                            said.known = Known::MustBe;
                        }
                    }
                    none => {
                        let Said { entry, day, .. } = later;
                        *none = Some(Said { entry, day, area_ha: need_ha, known: Known::MustBe });
                    }
                }
            }
        }
        Ok(())
    }
}
