//! Words of a sweep, and which values stand in its tables.

use super::rows::Step;
use super::told::{across, course};
use Step::{Fewer as F, More as M, Open as O};

#[test]
fn steps_are_told_as_they_go() {
    let values = ["3", "4", "5", "6", "7"];
    let mut text = String::new();
    for steps in [
        [F, F, F, F],
        [F, F, O, O],
        [F, O, F, O],
        [O, F, O, F],
        [O, O, O, O],
        [M, M, M, O],
        [F, F, O, M],
        [M, O, F, F],
        [F, M, F, M],
    ] {
        text.push_str(&format!("{steps:?}: {}\n", course(&steps, |at| values[at])));
    }
    insta::assert_snapshot!(text);
}

#[test]
fn of_many_values_some_stand_in_the_table_with_both_ends_and_the_farm_as_it_is() {
    assert_eq!(across(8, Some(2), 8), [0, 1, 2, 3, 4, 5, 6, 7]);
    for count in 9..200 {
        for base in [None, Some(0), Some(1), Some(count / 2), Some(count - 2), Some(count - 1)] {
            let shown = across(count, base, 8);
            assert!(shown.len() == 8 && shown.is_sorted_by(|one, other| one < other), "{count}: {shown:?}");
            assert_eq!((shown[0], shown[7]), (0, count - 1));
            assert!(base.is_none_or(|base| shown.contains(&base)), "{count} {base:?}: {shown:?}");
        }
    }
}
