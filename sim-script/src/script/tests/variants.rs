//! Variants that a script declares: what they may set, and what is said where they cannot.

use super::super::*;
use std::fmt::Write as _;

fn said(variants: &str) -> Result<Evaluated, ScriptError> {
    let text = format!(
        r#"
let width_m = param("width_m", 4.0);
{variants}
let count = param("count", 2);
let ploughed = param("ploughed", true);
let soil = param("soil", "loam");
farm(#{{ name: "f", suitable_days: [], classes: [], crops: [], fields: [] }})
"#
    );
    Script::embedded("farm.rhai", &text, &[]).evaluate(&[])
}

#[test]
fn a_variant_sets_parameters_of_every_kind() {
    let text = "variant(\"other\", #{ width_m: 6, count: 3, ploughed: false, soil: \"clay\" });\
                variant(\"wide\", #{ width_m: 6.5 });";
    let variants = said(text).unwrap().variants;
    let set = |pairs: &[(&str, &str)]| -> Vec<(String, String)> {
        pairs.iter().map(|(name, value)| ((*name).into(), (*value).into())).collect()
    };
    assert_eq!(
        variants[0].set,
        set(&[("count", "3"), ("ploughed", "false"), ("soil", "clay"), ("width_m", "6")])
    );
    assert_eq!((variants[1].name.as_str(), &variants[1].set), ("wide", &set(&[("width_m", "6.5")])));
    assert!(said("").unwrap().variants.is_empty());
}

#[test]
fn a_wrong_variant_says_what_and_where() {
    let mut text = String::new();
    for wrong in [
        "variant(\"wide\", #{ widht_m: 6.0 });",
        "variant(\"wide\", #{ width_m: \"six\" });",
        "variant(\"more\", #{ count: 2.5 });",
        "variant(\"none\", #{ ploughed: 0 });",
        "variant(\"list\", #{ width_m: [6.0] });",
        "variant(\"nothing\", #{});",
        "variant(\"no map\", 6.0);",
        "variant(6.0, #{ width_m: 6.0 });",
        "variant(\"base\", #{ width_m: 6.0 });",
        "variant(\"wide\", #{ width_m: 6.0 }); variant(\"wide\", #{ width_m: 8.0 });",
        "for width_m in 0..200 { variant(`wide ${width_m}`, #{ width_m: width_m }); }",
    ] {
        let error = said(wrong).unwrap_err();
        assert_eq!(error.place(), Some(("farm.rhai", 3)), "{error}");
        write!(text, "{error}\n\n").unwrap();
    }
    insta::assert_snapshot!(text);
}
