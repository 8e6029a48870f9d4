#![doc = "[lesson-drill]: drill_or_tractor\n[lesson-days]: independent_days\n[lesson-class]: class_farm\n\n"]
#![doc = include_str!("../guide/README.md")]
// Where two definitions of a link are given the first holds: here the pages are modules, on the disk they are files.

#[doc = include_str!("../guide/drill-or-tractor.md")]
pub mod drill_or_tractor {}

#[doc = include_str!("../guide/independent-days.md")]
pub mod independent_days {}

#[doc = include_str!("../guide/class-farm.md")]
pub mod class_farm {}
