//! When a job may be done: windows by date, or counted from another job of the field.

use jiff::civil::Date;

use super::error::{FarmError, FarmErrorKind};
use super::jobs::{FieldJobs, Part, Planned};
use super::model::Window;
use super::spec::{OperationSpec, When};
use crate::weather::MonthDay;

/// Days from `due` to `latest` where an operation gives no `latest`.
const DEFAULT_DAYS_TO_LATEST: i64 = 30;

impl FieldJobs<'_> {
    /// Whether the operation's window lies in the season: by its dates, or by those of the operation that
    /// it is counted from. One that is counted from nothing the crops know stays, to be refused later.
    pub(super) fn in_season(
        &self,
        crop: usize,
        operation: &OperationSpec,
        part: Part,
        year: i16,
    ) -> Result<bool, FarmError> {
        let mut seen = vec![operation.name.as_str()];
        let mut at = (crop, operation, part, year);
        loop {
            let (crop, operation, part, year) = at;
            let first = match (&operation.from, &operation.due) {
                (When::DaysAfter { operation, .. }, _) => operation,
                (_, When::DaysAfter { operation, .. }) => operation,
                _ => {
                    return Ok(
                        self.may_apply(crop, operation, part) && self.dates(crop, operation, year)?.is_some()
                    );
                }
            };
            if seen.contains(&first.as_str()) {
                return Ok(true);
            }
            let lists = self.lists_before(crop, part, year);
            let named = lists.into_iter().flatten().find_map(|(crop, list, part, year)| {
                list.iter().find(|other| other.name == *first).map(|other| (crop, other, part, year))
            });
            let Some(next) = named else { return Ok(true) };
            seen.push(first);
            at = next;
        }
    }

    /// from, due, latest as days of the season; `None` if the window lies outside it.
    pub(super) fn dates(
        &self,
        crop: usize,
        operation: &OperationSpec,
        year: i16,
    ) -> Result<Option<(u32, u32, u32)>, FarmError> {
        let (When::Date(from), When::Date(due)) = (&operation.from, &operation.due) else { return Ok(None) };
        let span = self.farm.span;
        let last = span.last();
        let (from_date, mut due_date) = (on(*from, year), on(*due, year));
        if due_date < from_date {
            due_date = on(*due, year + 1);
            if due_date > last {
                return Err(self.order_error(crop, operation, ("due", *due), ("from", *from)));
            }
        }
        if due_date < span.first() || from_date > last {
            return Ok(None);
        }
        if due_date > last {
            return Err(self.beyond(crop, operation, "due", due_date));
        }
        let latest_date = match &operation.latest {
            None => due_date.saturating_add(jiff::Span::new().days(DEFAULT_DAYS_TO_LATEST)).min(last),
            Some(When::Date(latest)) => {
                let mut date = on(*latest, due_date.year());
                if date < due_date {
                    date = on(*latest, due_date.year() + 1);
                    if date > last {
                        return Err(self.order_error(crop, operation, ("latest", *latest), ("due", *due)));
                    }
                }
                if date > last {
                    return Err(self.beyond(crop, operation, "latest", date));
                }
                date
            }
            Some(When::DaysAfter { .. }) => return Err(self.mixed(crop, operation)),
        };
        let day = |date: Date| span.day_of(date.max(span.first())).unwrap_or(0);
        Ok(Some((day(from_date), day(due_date), day(latest_date))))
    }

    fn order_error(
        &self,
        crop: usize,
        operation: &OperationSpec,
        earlier: (&str, MonthDay),
        later: (&str, MonthDay),
    ) -> FarmError {
        FarmError {
            origin: operation.origin,
            word: earlier.1.to_string(),
            kind: FarmErrorKind::WindowOrder {
                operation: self.label(crop, operation),
                earlier: format!("`{}` {}", earlier.0, earlier.1),
                later: format!("`{}` {}", later.0, later.1),
            },
        }
    }

    fn beyond(&self, crop: usize, operation: &OperationSpec, which: &'static str, date: Date) -> FarmError {
        let span = self.farm.span;
        FarmError {
            origin: operation.origin,
            word: which.to_string(),
            kind: FarmErrorKind::BeyondSeason {
                which,
                operation: self.label(crop, operation),
                date: date.to_string(),
                last: span.last().to_string(),
            },
        }
    }

    fn mixed(&self, crop: usize, operation: &OperationSpec) -> FarmError {
        FarmError {
            origin: operation.origin,
            word: "due".into(),
            kind: FarmErrorKind::Conflict {
                of: self.label(crop, operation),
                why: "its window is partly given by dates and partly counted from other operations",
                fix: "give `from`, `due` and `latest` all as dates, or all as days after one operation",
            },
        }
    }

    pub(super) fn set_windows(&mut self) -> Result<(), FarmError> {
        for index in 0..self.planned.len() {
            let Planned { crop, part, operation, year, job } = &self.planned[index];
            let (crop, part, operation, year, job) = (*crop, *part, *operation, *year, *job);
            if let Some((from, due, latest)) = self.dates(crop, operation, year)? {
                self.farm.jobs[job].window = Window::Fixed { from, due, latest };
                continue;
            }
            let (
                When::DaysAfter { operation: first, days: from },
                When::DaysAfter { operation: second, days: due },
            ) = (&operation.from, &operation.due)
            else {
                return Err(self.mixed(crop, operation));
            };
            let latest = match &operation.latest {
                None => due + DEFAULT_DAYS_TO_LATEST as u32,
                Some(When::DaysAfter { operation: third, days }) if third == first => *days,
                Some(_) => return Err(self.mixed(crop, operation)),
            };
            if first != second {
                return Err(self.mixed(crop, operation));
            }
            if due < from || latest < *due {
                let of = self.label(crop, operation);
                let (earlier, later) = if due < from { ("due", "from") } else { ("latest", "due") };
                return Err(FarmError {
                    origin: operation.origin,
                    word: earlier.to_string(),
                    kind: FarmErrorKind::WindowOrder {
                        operation: of,
                        earlier: format!("`{earlier}`"),
                        later: format!("`{later}`"),
                    },
                });
            }
            match self.find(crop, part, first) {
                Some(dated_by) => {
                    self.farm.jobs[job].window =
                        Window::After { job: dated_by, from: *from, due: *due, latest };
                    self.farm.jobs[dated_by].dated_by.push(job);
                }
                None => {
                    return Err(self.unknown_operation(operation.origin, first));
                }
            }
        }
        Ok(())
    }
}

/// A day of the year in a year; 29 February stands for the 28th where there is none.
fn on(day: MonthDay, year: i16) -> Date {
    day.in_year_or_before(year).unwrap_or(Date::MAX)
}
