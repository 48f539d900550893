//! A connector's face, drawn from its data, with the pins to probe marked.

use crate::app::frame::{App, app};
use crate::content::schema::{Connector, Pin, Shape};
use crate::content::words as w;
use crate::core::because::{Arg, Named};
use leptos::prelude::*;

/// The face of a connector with its own high, low and reference pins. Nothing where the connector is not known.
#[component]
pub fn Pins(#[prop(into)] connector: String, high: u8, low: u8, reference: u8) -> impl IntoView {
    let app = app();
    let connector = app.content.connector(&connector)?;
    let view_box = format!("0 0 {} {}", Connector::SIZE.0, Connector::SIZE.1);
    let letter = move |pin: &Pin| match pin.n {
        n if n == high => Some(w::PINS_LETTER_HIGH),
        n if n == low => Some(w::PINS_LETTER_LOW),
        n if n == reference => Some(w::PINS_LETTER_REFERENCE),
        _ => None,
    };
    let pins = connector
        .pins
        .iter()
        .map(|pin| {
            let probed = pin.n == high || pin.n == low;
            draw_pin(app, connector.shape, pin, letter(pin), probed)
        })
        .collect_view();
    Some(view! {
        <svg class="pins" viewBox=view_box role="img" aria-label=in_words(app, connector, high, low, reference)>
            {outline(connector).into_iter().map(|d| view! { <path class="pin-shell" d=d></path> }).collect_view()}
            {pins}
        </svg>
    })
}

/// The lines of the shell.
fn outline(connector: &Connector) -> Vec<String> {
    let across = || connector.pins.iter().map(|pin| pin.at[0]);
    let (left, right) = (across().fold(f64::MAX, f64::min), across().fold(0.0, f64::max));
    match connector.shape {
        Shape::Modular => {
            let (l, r) = (left - 18.0, right + 18.0);
            let shell = format!("M{l} 6H{r}V98H124V112H76V98H{l}Z");
            vec![shell]
        }
        Shape::Round => vec![
            "M100 6a54 54 0 1 1 -0.1 0Z".to_string(),
            // The key stands into the face.
            "M94 6.500v8h12v-8".to_string(),
        ],
        Shape::DSub => vec!["M28 14H172a12 12 0 0 1 11.500 15L166 98a11 11 0 0 1 -11 8H45a11 11 0 0 1 -11 -8L16.500 29a12 12 0 0 1 11.500 -15Z".to_string()],
        Shape::Terminal | Shape::Header => {
            let (l, r) = (left - 24.0, right + 24.0);
            vec![format!("M{l} 10H{r}V110H{l}Z")]
        }
    }
}

fn draw_pin(app: App, shape: Shape, pin: &Pin, letter: Option<w::Word>, probed: bool) -> impl IntoView + use<> {
    let [x, y] = pin.at;
    let class = if probed {
        "pin pin-probed"
    } else if letter.is_some() {
        "pin pin-reference"
    } else {
        "pin"
    };
    let (contact, number_y, letter_y) = match shape {
        Shape::Modular => (format!("M{:.1} 7h9v30h-9Z", x - 4.5), y + 21.0, y + 45.0),
        Shape::Round => (circle(x, y, 12.5), y + 5.0, y - 16.0),
        Shape::DSub => (circle(x, y, 11.0), y + 5.0, y - 15.0),
        Shape::Terminal | Shape::Header => (format!("M{:.1} {:.1}h22v22h-22Z", x - 11.0, y - 11.0), y + 5.0, y - 15.0),
    };
    let letter = letter.map(|word| {
        view! { <text class="pin-letter" x=x y=letter_y text-anchor="middle">{app.word(word)}</text> }
    });
    let inside = if shape == Shape::Modular { "pin-number" } else { "pin-number pin-inside" };
    view! {
        <g class=class>
            <path d=contact></path>
            <text class=inside x=x y=number_y text-anchor="middle">{pin.n}</text>
            {letter}
        </g>
    }
}

fn circle(x: f64, y: f64, r: f64) -> String {
    format!("M{:.1} {y:.1}a{r} {r} 0 1 0 {d} 0a{r} {r} 0 1 0 -{d} 0Z", x - r, d = 2.0 * r)
}

/// The drawing described in words.
fn in_words(app: App, connector: &Connector, high: u8, low: u8, reference: u8) -> String {
    let speaker = app.speaker();
    let pin = |n: u8| Arg::Count(u32::from(n));
    let name = Named::new(format!("connector-{}", connector.key));
    let picture = speaker.fill(
        w::PINS_PICTURE,
        &[("connector", name.into()), ("high", pin(high)), ("low", pin(low)), ("reference", pin(reference))],
    );
    let row = |row: &Vec<u8>| row.iter().map(u8::to_string).collect::<Vec<_>>().join(", ");
    let rows = connector.rows().iter().map(row).collect::<Vec<_>>().join("; ");
    let rows = speaker.fill(w::PINS_ROWS, &[("rows", Arg::Name(rows))]);
    let mark = match connector.shape {
        Shape::Modular => app.word(w::PINS_LATCH_DOWN),
        Shape::Round => app.word(w::PINS_KEY_UP),
        Shape::DSub | Shape::Terminal | Shape::Header => "",
    };
    format!("{picture} {rows} {mark}").trim_end().to_string()
}
