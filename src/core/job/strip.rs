//! The bus strip: the site's bus as a drawing. Geometry only; `app` and the record draw it alike.
//!
//! Stops lie in rows of at most five, each row read from left to right; rows are joined at their ends. Units are those of
//! the drawing's own view box.

use crate::core::job::assess::Suspect;
use crate::core::site::{End, Site, Stop};
use crate::core::units::Metres;

/// Width of the drawing.
pub const WIDTH: f64 = 360.0;
const ROW_HEIGHT: f64 = 104.0;
const MOST_IN_ROW: usize = 5;
const MARGIN: f64 = 40.0;
const STOP_WIDTH: f64 = 44.0;

/// The part of the bus that a card is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lit {
    Nothing,
    Everything,
    Module(u32),
    Modules,
    Monitor,
    /// The lead with this index from the bank's free end.
    Lead(usize),
    Terminator(End),
    /// The meter's probes at this stop.
    Meter(Stop),
}

/// A stop as a box.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawnStop {
    pub stop: Stop,
    pub x: f64,
    pub y: f64,
    pub width: f64,
    pub height: f64,
    pub lit: bool,
}

/// A lead as a path of straight pieces, with the point for its label.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawnLead {
    pub points: Vec<(f64, f64)>,
    pub label_at: (f64, f64),
    pub length: Metres,
    pub lit: bool,
    pub suspected: bool,
}

/// A terminator at an end of the bus, or the empty place where one should be.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawnTerminator {
    pub end: End,
    pub x: f64,
    pub y: f64,
    pub fitted: bool,
    pub built_in: bool,
    pub lit: bool,
    pub suspected: bool,
}

/// The whole drawing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Strip {
    pub width: f64,
    pub height: f64,
    pub stops: Vec<DrawnStop>,
    pub leads: Vec<DrawnLead>,
    pub terminators: Vec<DrawnTerminator>,
    /// Where the meter's probes go, if the card is about a reading.
    pub meter: Option<Meter>,
}

/// The stop at which the meter's probes are held, and the point of the drawing where they meet it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meter {
    pub at: Stop,
    pub x: f64,
    pub y: f64,
}

impl Strip {
    /// The drawing without its suspicions and its meter, and the suspicions alone: one for each lead, then one for each
    /// terminator.
    pub fn apart(&self) -> (Strip, Vec<bool>) {
        let mut still = Strip { meter: None, ..self.clone() };
        let leads = still.leads.iter_mut().map(|lead| std::mem::take(&mut lead.suspected));
        let terminators = still.terminators.iter_mut().map(|terminator| std::mem::take(&mut terminator.suspected));
        let suspected = leads.chain(terminators).collect();
        (still, suspected)
    }
}

/// Draws the site's bus.
pub fn draw(site: &Site, lit: Lit, suspect: Option<Suspect>) -> Strip {
    let stops = site.stops();
    let rows = stops.len().div_ceil(MOST_IN_ROW);
    let in_row = stops.len().div_ceil(rows);
    let gap = if in_row > 1 { (WIDTH - 2.0 * MARGIN - STOP_WIDTH) / (in_row - 1) as f64 } else { 0.0 };
    let centre = |index: usize| {
        let (row, column) = (index / in_row, index % in_row);
        let x = if in_row > 1 { MARGIN + STOP_WIDTH / 2.0 + gap * column as f64 } else { WIDTH / 2.0 };
        (x, ROW_HEIGHT * row as f64 + 58.0)
    };
    let height = |stop: Stop| if stop == Stop::Monitor { 34.0 } else { 40.0 };
    let everything = lit == Lit::Everything;

    let drawn_stops = stops
        .iter()
        .enumerate()
        .map(|(index, stop)| {
            let (x, y) = centre(index);
            let lit = everything
                || match (*stop, lit) {
                    (Stop::Module(n), Lit::Module(m)) => n == m,
                    (Stop::Module(_), Lit::Modules) => true,
                    (Stop::Monitor, Lit::Monitor) => true,
                    _ => false,
                };
            let height = height(*stop);
            DrawnStop { stop: *stop, x: x - STOP_WIDTH / 2.0, y: y - height / 2.0, width: STOP_WIDTH, height, lit }
        })
        .collect();

    let leads = site
        .leads
        .iter()
        .enumerate()
        .map(|(index, laid)| {
            let ((ax, ay), (bx, by)) = (centre(index), centre(index + 1));
            let half = STOP_WIDTH / 2.0;
            let points = if ay == by {
                vec![(ax + half, ay), (bx - half, by)]
            } else {
                // From the end of one row to the start of the next.
                let (turn, between) = (WIDTH - 12.0, (ay + by) / 2.0);
                vec![(ax + half, ay), (turn, ay), (turn, between), (12.0, between), (12.0, by), (bx - half, by)]
            };
            // Below the boxes, where a short lead between two of them leaves room.
            let label_at = if ay == by { ((ax + bx) / 2.0, ay + 36.0) } else { (WIDTH / 2.0, (ay + by) / 2.0 + 14.0) };
            DrawnLead {
                points,
                label_at,
                length: laid.length,
                lit: everything || lit == Lit::Lead(index),
                suspected: match suspect {
                    Some(Suspect::Lead(run)) => run == index,
                    Some(Suspect::Whole) => true,
                    _ => false,
                },
            }
        })
        .collect();

    let terminators = End::BOTH
        .into_iter()
        .map(|end| {
            let (x, y) = match end {
                End::Bank => centre(0),
                End::Monitor => centre(stops.len() - 1),
            };
            let side = match end {
                End::Bank => -1.0,
                End::Monitor => 1.0,
            };
            DrawnTerminator {
                end,
                x: x + side * (STOP_WIDTH / 2.0 + 18.0),
                y,
                fitted: site.terminated(end),
                built_in: site.built_in_terminator(end),
                lit: everything || lit == Lit::Terminator(end),
                suspected: match suspect {
                    Some(Suspect::End(suspected)) => suspected == end,
                    Some(Suspect::Ends | Suspect::Whole) => true,
                    _ => false,
                },
            }
        })
        .collect();

    let meter = match lit {
        Lit::Meter(at) => stops.iter().position(|stop| *stop == at).map(|index| {
            let (x, y) = centre(index);
            Meter { at, x, y: y - height(at) / 2.0 }
        }),
        _ => None,
    };
    Strip { width: WIDTH, height: ROW_HEIGHT * rows as f64, stops: drawn_stops, leads, terminators, meter }
}

impl DrawnLead {
    /// The path's points as SVG writes them.
    pub fn path(&self) -> String {
        self.points.iter().map(|(x, y)| format!("{x:.1},{y:.1}")).collect::<Vec<_>>().join(" ")
    }
}
