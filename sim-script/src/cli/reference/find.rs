//! From what a person asks for to what there is: a word of the script, a key, a property, or all that mentions it.

use super::page::{heading, keys, property_page, readable, verb_page};
use crate::cli::plain::{Fit, Plain, wrapped};
use crate::script::{GROUND, Key, Property, VIEWS, Verb, all_verbs, verb};
use crate::words::{nearest, one_after_another};

/// What decisions read, with whose it is.
fn properties() -> impl Iterator<Item = (&'static str, &'static Property)> {
    VIEWS.iter().flat_map(|view| view.properties.iter().chain(GROUND).map(|one| (view.name, one)))
}

/// Every name that can be asked for.
fn names() -> impl Iterator<Item = &'static str> {
    let keys = all_verbs().flat_map(|verb| verb.keys).map(|key| key.name);
    let own = VIEWS.iter().map(|view| view.name).chain(["memory"]);
    all_verbs().map(|verb| verb.name).chain(keys).chain(own).chain(properties().map(|(_, one)| one.name))
}

/// What there is under a word; else what mentions it; else what was perhaps meant.
pub(super) fn word(asked: &str) -> Result<String, String> {
    // People ask for what stands in a script: `machine(...)`, `job.soil`, `tank_l:`.
    let name = asked.split('(').next().unwrap_or_default();
    let name = name.rsplit('.').next().unwrap_or_default().trim().trim_end_matches(':').to_lowercase();
    let mut pages: Vec<String> = Vec::new();
    if let Some(verb) = verb(&name) {
        pages.push(verb_page(verb, None));
        let also: Vec<&str> = with_key(&name).map(|(verb, _)| verb.name).collect();
        if !also.is_empty() {
            let mut text = String::new();
            wrapped(&mut text, &format!("`{name}` is also a key of {}.", one_after_another(&also)));
            pages.push(text);
        }
        if name == "policy" {
            let asked = VIEWS.iter().map(|view| view.name).collect::<Vec<_>>().join(" ");
            pages.push(format!("`dryspell reference {asked}` shows what decisions can read.\n"));
        }
        if VIEWS.iter().any(|view| view.name == name) {
            pages.push(readable(&[&name]));
        }
        return Ok(pages.join("\n"));
    }
    if name == "memory" || VIEWS.iter().any(|view| view.name == name) {
        return Ok(readable(&[&name]));
    }
    let mut told: Vec<&Key> = Vec::new();
    for (_, key) in with_key(&name) {
        if !told.iter().any(|other| alike(other, key)) {
            pages.push(key_page(key));
            told.push(key);
        }
    }
    pages.extend(properties().filter(|(_, one)| one.name == name).map(|(of, one)| property_page(of, one)));
    if pages.is_empty() { mentions(&[name]) } else { Ok(pages.join("\n")) }
}

/// The verbs that have a key of this name.
fn with_key(name: &str) -> impl Iterator<Item = (&'static Verb, &'static Key)> {
    all_verbs().flat_map(move |verb| {
        verb.keys.iter().filter(move |key| key.name == name).map(move |key| (verb, key))
    })
}

/// Whether two keys are the same in two verbs.
fn alike(one: &Key, other: &Key) -> bool {
    (one.name, one.about, one.unit, one.need) == (other.name, other.about, other.unit, other.need)
}

/// A key, with those that its meaning names.
fn key_page(key: &Key) -> String {
    let mut text = String::new();
    let of: Vec<(&Verb, &Key)> = with_key(key.name).filter(|(_, other)| alike(other, key)).collect();
    let verbs: Vec<&str> = of.iter().map(|(verb, _)| verb.name).collect();
    heading(&mut text, &format!("{}, a key of {}", key.name, one_after_another(&verbs)), '-');
    let Some((verb, _)) = of.first() else { return text };
    let named: Vec<&str> = key.about.split('`').skip(1).step_by(2).collect();
    let mut shown: Vec<&Key> = vec![key];
    shown.extend(verb.keys.iter().filter(|other| named.contains(&other.name) && other.name != key.name));
    text.push_str(&keys(verb, shown.iter().copied()));
    text.push_str("\nAs written in a script\n\n");
    for key in &shown {
        text.push_str(&format!("    {}: {},\n", key.name, key.example));
    }
    for name in named.iter().filter(|name| !verb.keys.iter().any(|key| key.name == **name)) {
        let of: Vec<&str> = with_key(name).map(|(verb, _)| verb.name).collect();
        if let Some((_, key)) = with_key(name).next() {
            let of = one_after_another(&of);
            text.push_str(&format!("\n`{name}` is a key of {of}, as in {name}: {}\n", key.example));
        }
    }
    text.push_str(&format!("\n`dryspell reference {}` shows all its keys.\n", verb.name));
    text
}

/// Whether a text has a word that begins so.
fn mentioned(text: &str, wanted: &str) -> bool {
    let text = text.to_lowercase();
    text.split(|letter: char| !letter.is_alphanumeric()).any(|word| word.starts_with(wanted))
}

/// All words, keys and properties whose names or meanings mention every one of these words.
pub(super) fn mentions(asked: &[impl AsRef<str>]) -> Result<String, String> {
    let mut wanted: Vec<String> = Vec::new();
    for word in asked {
        // Who asks for tanks or for spraying is helped by what is said of a tank and a sprayer.
        let asked = word.as_ref().to_lowercase();
        let parts = asked.split(|letter: char| !letter.is_alphanumeric()).filter(|part| !part.is_empty());
        wanted.extend(parts.map(|part| {
            let stem = part.strip_suffix("ing").or_else(|| part.strip_suffix('s'));
            stem.filter(|stem| stem.len() >= 3).unwrap_or(part).to_string()
        }));
    }
    let fits = |text: String| !wanted.is_empty() && wanted.iter().all(|word| mentioned(&text, word));
    let mut table = Plain::new(&[("Word", Fit::Whole), ("Key", Fit::Whole), ("Meaning", Fit::Text)]);
    let mut found = 0;
    let mut row = |word: &str, key: &str, about: &str| {
        table.row([word.to_string(), key.to_string(), about.to_string()]);
        found += 1;
    };
    for verb in all_verbs() {
        if fits(format!("{} {}", verb.name, verb.about)) {
            row(verb.name, "", verb.about);
        }
        for key in verb.keys.iter().filter(|key| fits(format!("{} {} {}", verb.name, key.name, key.about))) {
            row(verb.name, key.name, key.about);
        }
    }
    for (of, one) in properties().filter(|(of, one)| fits(format!("{of} {} {}", one.name, one.about))) {
        row(of, one.name, one.about);
    }
    let asked = asked.iter().map(AsRef::as_ref).collect::<Vec<_>>().join(" ");
    if found > 0 {
        return Ok(format!(
            "Mentioned with \"{asked}\"\n\n{}\n`dryspell reference WORD` shows a word with all its keys, or a key.\n",
            table.text()
        ));
    }
    let near = nearest(&asked, names()).map(|near| format!("Did you mean `{near}`?\n")).unwrap_or_default();
    Err(format!(
        "nothing in a script is called or mentions \"{asked}\"\n{near}`dryspell reference` shows every word by subject."
    ))
}
