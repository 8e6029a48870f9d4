//! What is built into the program: the demo farm and the farm to start from.

/// Files with their names.
pub(super) type Files = &'static [(&'static str, &'static str)];

/// The name under which the demo farm's script shows in messages.
pub(super) const DEMO_NAME: &str = "demo/farm.rhai";

/// The demo farm's script.
pub(super) const DEMO: &str = include_str!("../../../scenarios/demo/farm.rhai");

/// The demo farm's tables.
pub(super) const DEMO_FILES: Files = &[
    ("suitable-days.csv", include_str!("../../../scenarios/demo/suitable-days.csv")),
    ("drivers.csv", include_str!("../../../scenarios/demo/drivers.csv")),
];

/// The farm to start from.
pub(super) const NEW_FARM: Files = &[
    ("farm.rhai", include_str!("../../../scenarios/new-farm/farm.rhai")),
    ("days.csv", include_str!("../../../scenarios/new-farm/days.csv")),
];
