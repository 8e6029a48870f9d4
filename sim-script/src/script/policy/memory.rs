//! What a script remembers within a season.

use super::views::{Read, refused};
use rhai::{Dynamic, Engine, ImmutableString};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

/// The most that a season's memory may hold: notes, and letters in the name or the text of one.
pub(super) const MOST_NOTES: usize = 1_000;
pub(super) const LONGEST_NOTE: usize = 200;

/// Notes under names; all who hold it see the same.
#[derive(Debug, Clone, Default)]
pub(super) struct Memory(Rc<RefCell<BTreeMap<ImmutableString, Dynamic>>>);

impl Memory {
    pub(super) fn clear(&self) {
        self.0.borrow_mut().clear();
    }

    /// What was noted under a name; nothing if nothing was.
    fn get(&mut self, name: ImmutableString) -> Dynamic {
        self.0.borrow().get(&name).cloned().unwrap_or(Dynamic::UNIT)
    }

    fn set(&mut self, name: ImmutableString, value: Dynamic) -> Read<()> {
        let value = value.flatten();
        let text = value.as_immutable_string_ref().map_or(0, |text| text.len());
        let plain = value.is_int() || value.is_float() || value.is_bool() || value.is_string();
        if !plain {
            return refused("the memory keeps numbers, texts, true and false");
        }
        if name.len() > LONGEST_NOTE || text > LONGEST_NOTE {
            return refused(&format!("a note in the memory has more than {LONGEST_NOTE} letters"));
        }
        let mut notes = self.0.borrow_mut();
        if notes.len() == MOST_NOTES && !notes.contains_key(&name) {
            return refused(&format!("the memory holds {MOST_NOTES} notes, which is the most"));
        }
        notes.insert(name, value);
        Ok(())
    }
}

/// Teaches an engine to read and write notes.
pub(super) fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Memory>("memory");
    engine.register_indexer_get(Memory::get).register_indexer_set(Memory::set);
}
