//! Jobs that travel: links, codes, what a merge keeps, fingerprints and the record's file.

mod jobs;
mod links;
mod merges;
mod sizes;
