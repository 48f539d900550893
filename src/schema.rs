//! The published schemas of a backup and of a pack, written from the types that read and write them.
//!
//!     UPDATE=1 cargo test --no-default-features --lib schema

use crate::content::pack::{self, Pack};
use crate::core::job::backup::{Backup, FORMAT, VERSION};
use schemars::Schema;
use std::fs;

/// The schema with its title, and with what must stand in two of its fields.
fn written(mut schema: Schema, title: &str, fixed: [(&str, serde_json::Value); 2]) -> String {
    schema.insert("title".into(), title.into());
    for (name, value) in fixed {
        schema.pointer_mut(&format!("/properties/{name}")).unwrap()["const"] = value;
    }
    serde_json::to_string_pretty(&schema).unwrap() + "\n"
}

fn holds(place: &str, written: &str) {
    if std::env::var_os("UPDATE").is_some() {
        fs::write(place, written).unwrap();
    }
    let there = fs::read_to_string(place).unwrap();
    assert!(
        there == written,
        "{place} is not what the types say: UPDATE=1 cargo test --no-default-features --lib schema"
    );
}

#[test]
fn the_published_schema_is_that_of_the_types() {
    let fixed = [("format", FORMAT.into()), ("version", VERSION.into())];
    let schema = written(schemars::schema_for!(Backup), "A backup of the jobs of Sixty Ohms", fixed);
    holds("public/schema/backup.schema.json", &schema);
}

#[test]
fn the_published_schema_of_packs_is_that_of_the_types() {
    let fixed = [("pack", pack::FORMAT.into()), ("version", pack::VERSION.into())];
    let schema = written(schemars::schema_for!(Pack), "A pack of content for Sixty Ohms", fixed);
    holds("public/schema/pack.schema.json", &schema);
}
