//! What a farm costs, as far as it was said: nothing is assumed where nothing is given.

use super::spec::FarmSpec;

/// The money that machines, people and contractors of a farm cost.
#[derive(Debug, Clone, PartialEq)]
pub struct Costs {
    /// What money is called, if that was said.
    pub currency: Option<String>,
    given: bool,
    year: f64,
    /// Money an hour of each machine, then of each person.
    in_use_h: Vec<f64>,
    /// Money a hectare of each person; of contractors only.
    hired_ha: Vec<f64>,
}

impl Costs {
    pub(super) fn of(spec: &FarmSpec) -> Self {
        let machines = || spec.machines.iter();
        let of_machine =
            |cost: Option<f64>, width_m: f64, count: u32| cost.unwrap_or(0.0) * width_m * f64::from(count);
        let year: f64 = machines()
            .map(|machine| {
                of_machine(machine.cost_year, 1.0, machine.count)
                    + of_machine(machine.cost_m_year, machine.width_m.unwrap_or(0.0), machine.count)
            })
            .chain(spec.people.iter().map(|person| person.cost_year.unwrap_or(0.0)))
            .sum();
        let of_machines = machines()
            .flat_map(|machine| std::iter::repeat_n(machine.cost_h.unwrap_or(0.0), machine.count as usize));
        let of_people = spec.people.iter().map(|person| person.cost_h.unwrap_or(0.0));
        let of_contractors = spec.contractors.iter();
        let given = machines()
            .flat_map(|machine| [machine.cost_year, machine.cost_m_year, machine.cost_h])
            .chain(spec.people.iter().flat_map(|person| [person.cost_year, person.cost_h]))
            .chain(spec.contractors.iter().map(|contractor| contractor.cost_ha))
            .any(|cost| cost.is_some());
        Self {
            currency: spec.currency.clone(),
            given,
            year,
            in_use_h: of_machines.chain(of_people).chain(of_contractors.clone().map(|_| 0.0)).collect(),
            hired_ha: spec
                .people
                .iter()
                .map(|_| 0.0)
                .chain(of_contractors.map(|contractor| contractor.cost_ha.unwrap_or(0.0)))
                .collect(),
        }
    }

    /// Whether the farm says of anything what it costs.
    #[must_use]
    pub fn given(&self) -> bool {
        self.given
    }

    /// What the farm costs a year before anything is done, in money.
    #[must_use]
    pub fn year(&self) -> f64 {
        self.year
    }

    /// What a season costs, in money: the year's costs, the seconds that each machine and then each person was in use
    /// at what an hour costs, and the hectares that each of the people, who is a contractor then, did at what a hectare
    /// costs.
    pub fn season(&self, used_s: impl Iterator<Item = i64>, hired_ha: &[f64]) -> f64 {
        let in_use: f64 =
            self.in_use_h.iter().zip(used_s).map(|(cost_h, used_s)| cost_h * used_s as f64).sum();
        let hired: f64 = self.hired_ha.iter().zip(hired_ha).map(|(cost_ha, area_ha)| cost_ha * area_ha).sum();
        self.year + in_use / 3600.0 + hired
    }
}
