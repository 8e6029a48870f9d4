//! The decisions themselves, one table: their keys in `policy(#{ ... })`, and what each is asked about.

use crate::script::verb::{Gives, Key, Kind, Verb};
use crate::script::verbs::{MAP, may};

/// A decision that a script can take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Decision {
    Rank,
    Hold,
    OvertimeH,
    Hire,
    Outfit,
    Straw,
    Tillage,
}

/// How many decisions there are.
pub(super) const DECISIONS: usize = Decision::ALL.len();

impl Decision {
    /// All, in the order of the keys of [`POLICY`].
    pub(super) const ALL: [Self; 7] =
        [Self::Rank, Self::Hold, Self::OvertimeH, Self::Hire, Self::Outfit, Self::Straw, Self::Tillage];

    /// Its entry in [`POLICY`].
    pub(super) fn entry(self) -> &'static Key {
        &POLICY.keys[self as usize]
    }

    /// Its key.
    pub(super) fn key(self) -> &'static str {
        self.entry().name
    }

    /// What it is asked about: a job, a day or a field.
    pub(super) fn about(self) -> &'static str {
        match self.entry().kind {
            Kind::Closure(of) => of,
            _ => "job",
        }
    }
}

const fn decision(name: &'static str, of: &'static str, example: &'static str, about: &'static str) -> Key {
    may(name, Kind::Closure(of), "", example, about)
}

/// `policy`.
pub(in crate::script) const POLICY: Verb = Verb {
    name: "policy",
    about: "Decisions that the script takes over from the manager; the manager takes those that it leaves out.",
    gives: Gives::Part,
    arguments: &[MAP],
    keys: &[
        decision(
            "rank",
            "job",
            "|job| job.days_in_hand",
            "which ready work goes first: a number, the lowest first; the fewest days in hand unless said",
        ),
        decision(
            "hold",
            "job",
            "|job| job.operation == \"ploughing\" && job.today < \"09-15\"",
            "whether to leave a job alone today though it could be worked: true or false; never unless said",
        ),
        decision(
            "overtime_h",
            "day",
            "|day| if day.least_days_in_hand < 2.0 && day.overtime_week_h < 8.0 { 2.0 } else { 0.0 }",
            "overtime today in hours, up to what each person allows; all of it when no days are in hand unless said",
        ),
        decision(
            "hire",
            "job",
            "|job| job.days_in_hand < 1.0",
            "whether to call a contractor who could come for a job: true or false; as the contractor's keys say unless said",
        ),
        decision(
            "outfit",
            "job",
            "|job| if job.area_ha > 20.0 && \"large drill\" in job.outfits { \"large drill\" } else { () }",
            "which of the operation's outfits alone may take a job today: its name, or () for whichever is free, the first named \
             first, as it is unless said",
        ),
        decision(
            "straw",
            "field",
            "|field| if field.days_in_hand < 3.0 { \"chop\" } else { field.usual }",
            "what is done with a field's straw: \"bale\" or \"chop\", asked when its harvest begins; what the field or its crop \
             says unless said",
        ),
        decision(
            "tillage",
            "field",
            "|field| if field.days_in_hand < 5.0 { \"min_till\" } else { field.usual }",
            "how a field's seedbed is made: \"plough\", \"min_till\" or \"direct\", asked when what stood on it has been seen to, \
             on bare land on the first day of any such work; what the field or its crop says unless said",
        ),
    ],
    ranges: &[],
    example: "policy(#{ hold: |job| job.operation == \"ploughing\" && job.today < \"09-15\" })",
};
