//! `dryspell reference`: every word of a script with its keys, and what decisions can read, from the tables that
//! scripts are read by.

mod editor;
mod find;
mod page;
#[cfg(test)]
mod tests;

use super::args::ReferenceArgs;
use super::plain::{hanging, wrapped};
use super::{Failure, print};
use crate::script::TOPICS;
use page::{heading, readable, verb_page};

pub(super) fn reference(args: &ReferenceArgs) -> Result<(), Failure> {
    let text = match args.words.as_slice() {
        _ if args.editor => editor::definitions(),
        [] => whole(),
        [word] => find::word(word).map_err(Failure::Request)?,
        words => find::mentions(words).map_err(Failure::Request)?,
    };
    print(&text)
}

/// Everything.
fn whole() -> String {
    let mut text = contents();
    for topic in TOPICS {
        text.push('\n');
        heading(&mut text, topic.heading, '=');
        for verb in topic.verbs {
            text.push('\n');
            let same = |other: &&&crate::script::Verb| {
                !verb.keys.is_empty()
                    && other.keys.iter().map(|key| key.name).eq(verb.keys.iter().map(|key| key.name))
            };
            let before = topic.verbs.iter().take_while(|other| other.name != verb.name).find(same);
            text.push_str(&verb_page(verb, before.map(|other| other.name)));
        }
    }
    text.push('\n');
    text.push_str(&readable(&["job", "day", "field", "memory"]));
    text
}

/// The subjects with their words.
fn contents() -> String {
    let mut text = String::new();
    heading(&mut text, "The words of a script", '=');
    wrapped(
        &mut text,
        "`dryspell reference machine` shows one word, `dryspell reference tank_l` one key, and `dryspell reference sprayer \
         tank` all that mentions both. Each word is followed by brackets: machine(\"drill\", #{ width_m: 4.0 }). The keys \
         stand between #{ and } in any order; a number of hectares, litres or hours is written without its unit, which \
         stands in the key's name. Days of the year are \"MM-DD\".",
    );
    for topic in TOPICS {
        text.push_str(&format!("\n{}\n", topic.heading));
        for verb in topic.verbs {
            hanging(&mut text, &format!("  {}", verb.name), 20, verb.about);
        }
    }
    text.push_str("\nWhat decisions can read\n");
    hanging(&mut text, "  job", 20, "The work that is decided on, in `rank`, `hold` and `hire`.");
    hanging(&mut text, "  day", 20, "The day as it begins, in `overtime_h`.");
    hanging(&mut text, "  memory", 20, "What decisions have noted in this season.");
    text
}
