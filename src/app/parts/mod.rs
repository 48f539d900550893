//! Parts that pages share.

pub mod alarm_links;
pub mod badge;
pub mod brief;
pub mod choice;
pub mod code;
pub mod explain;
pub mod field;
pub mod finding;
pub mod fold;
pub mod go_row;
pub mod hand_file;
pub mod head;
pub mod icon;
pub mod judged;
pub mod kept;
pub mod pins;
pub mod select;
pub mod stretches;
pub mod strip;
pub mod trace;
pub mod window_line;
