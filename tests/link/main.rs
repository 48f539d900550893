//! Jobs that travel: links, codes, what a merge keeps, and fingerprints.

mod codes;
mod fingerprints;
mod goldens;
mod jobs;
mod links;
mod merges;
mod pasted;
mod sizes;
