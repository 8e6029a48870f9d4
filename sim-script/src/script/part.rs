//! What verbs give back: parts of a farm, opaque to the script.

use super::policy::PolicyPart;
use super::verb::PartKind;
use sim_core::farm::spec::{
    ClassSpec, ContractorSpec, CropSpec, DriverRow, FarmSpec, FieldSpec, LinkSpec, MachineSpec,
    OperationSpec, OutfitSpec, PersonSpec, RecordSpec, RuleSpec, StageSpec, SuitableRow, When,
};
use sim_core::weather::{EVERY_DAY, HOLIDAY, HoursRule};
use std::rc::Rc;

/// A part of a farm; cheap to copy.
#[derive(Debug, Clone)]
pub(crate) struct Part {
    data: Rc<PartData>,
    /// Roughly how many bytes it holds.
    bytes: usize,
}

/// The parts.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum PartData {
    /// `hours(...)`.
    Hours(HoursPart),
    /// `work_class(...)`.
    Class(ClassSpec),
    /// `person(...)`.
    Person(PersonSpec),
    /// `machine(...)`.
    Machine(MachineSpec),
    /// `outfit(...)`.
    Outfit(OutfitSpec),
    /// `contractor(...)`.
    Contractor(ContractorSpec),
    /// `operation(...)`.
    Operation(OperationSpec),
    /// `after_operation(...)`.
    Link(LinkSpec),
    /// `days_after(...)`.
    DaysAfter(When),
    /// `crop(...)`.
    Crop(CropSpec),
    /// `field(...)`.
    Field(FieldSpec),
    /// `suitable(...)` or `suitable_days(...)`.
    Suitable(Vec<SuitableRow>),
    /// `driver(...)` or `drivers_from(...)`.
    Driver(Vec<DriverRow>),
    /// `replay(...)` or `resample(...)`; its rules are given to the farm.
    Weather(RecordSpec),
    /// `rule(...)`.
    Rule(RuleSpec),
    /// `stage(...)`.
    Stage(StageSpec),
    /// `policy(...)`.
    Policy(PolicyPart),
    /// `farm(...)`, and who decides on it if the script does.
    Farm(Box<FarmSpec>, Option<PolicyPart>),
}

/// Hours whose days of the week may be left to whoever uses them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct HoursPart {
    /// The rule; its days of the week hold only if `days_given`.
    pub(crate) rule: HoursRule,
    /// Whether the script said on which days of the week they hold.
    pub(crate) days_given: bool,
}

impl HoursPart {
    /// The rule for a person: not on holidays unless it says so.
    pub(crate) fn for_person(self) -> HoursRule {
        self.with(EVERY_DAY & !HOLIDAY)
    }

    /// The rule for a work class or a contractor: every day unless it says otherwise.
    pub(crate) fn for_every_day(self) -> HoursRule {
        self.with(EVERY_DAY)
    }

    fn with(self, weekdays: u8) -> HoursRule {
        if self.days_given { self.rule } else { HoursRule { weekdays, ..self.rule } }
    }
}

impl Part {
    pub(crate) fn new(data: PartData, bytes: usize) -> Self {
        Self { data: Rc::new(data), bytes }
    }

    pub(crate) fn data(&self) -> &PartData {
        &self.data
    }

    pub(crate) fn bytes(&self) -> usize {
        self.bytes
    }

    pub(crate) fn kind(&self) -> PartKind {
        match &*self.data {
            PartData::Hours(_) => PartKind::Hours,
            PartData::Class(_) => PartKind::Class,
            PartData::Person(_) => PartKind::Person,
            PartData::Machine(_) => PartKind::Machine,
            PartData::Outfit(_) => PartKind::Outfit,
            PartData::Contractor(_) => PartKind::Contractor,
            PartData::Operation(_) => PartKind::Operation,
            PartData::Link(_) => PartKind::Link,
            PartData::DaysAfter(_) => PartKind::DaysAfter,
            PartData::Crop(_) => PartKind::Crop,
            PartData::Field(_) => PartKind::Field,
            PartData::Suitable(_) => PartKind::Suitable,
            PartData::Driver(_) => PartKind::Driver,
            PartData::Weather(_) => PartKind::Weather,
            PartData::Rule(_) => PartKind::Rule,
            PartData::Stage(_) => PartKind::Stage,
            PartData::Policy(_) => PartKind::Policy,
            PartData::Farm(..) => PartKind::Farm,
        }
    }
}
