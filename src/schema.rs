//! The published schema of a backup, written from the types that read and write it.
//!
//!     UPDATE=1 cargo test --no-default-features --lib schema

use crate::core::job::backup::{Backup, FORMAT, VERSION};
use std::fs;

const PLACE: &str = "public/schema/backup.schema.json";

fn written() -> String {
    let mut schema = schemars::schema_for!(Backup);
    schema.insert("title".into(), "A backup of the jobs of Sixty Ohms".into());
    let of = |name: &str| format!("/properties/{name}");
    schema.pointer_mut(&of("format")).unwrap()["const"] = FORMAT.into();
    schema.pointer_mut(&of("version")).unwrap()["const"] = VERSION.into();
    serde_json::to_string_pretty(&schema).unwrap() + "\n"
}

#[test]
fn the_published_schema_is_that_of_the_types() {
    let written = written();
    if std::env::var_os("UPDATE").is_some() {
        fs::write(PLACE, &written).unwrap();
    }
    let there = fs::read_to_string(PLACE).unwrap();
    assert!(
        there == written,
        "{PLACE} is not what the types say: UPDATE=1 cargo test --no-default-features --lib schema"
    );
}
