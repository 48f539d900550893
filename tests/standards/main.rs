//! The sums against outside sources: published tables, worked examples and independent solvers. See README.md.

mod bank;
mod bus;
mod power;
