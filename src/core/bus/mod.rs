//! The data bus as physics: a network of resistors, and what a meter reads in it; the time a bit takes, and the bits of a
//! frame; and what the frames of open protocols say.

pub mod canopen;
pub mod capture;
pub mod capture_line;
pub mod copper;
pub mod dbc;
pub mod frame;
pub mod j1939;
pub mod length;
pub mod levels;
pub mod line;
pub mod load_picture;
pub mod network;
pub mod readings;
pub mod rs485;
pub mod rvc;
mod rvc_fields;
pub mod short;
pub mod termination;
pub mod timing;
