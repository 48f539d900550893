//! What the modules say: one set of figures for all, or one card a module.

use super::parts::Segments;
use super::typed::{Typed, TypedField};
use crate::app::device::page;
use crate::app::frame::app;
use crate::app::parts::alarm_links::alarm_links;
use crate::content::words as w;
use crate::core::bank::findings::numbers::{Said, Series};
use crate::core::codes::{Code, Vocabulary};
use crate::core::units::Kind;
use leptos::prelude::*;

/// All that is typed of one module.
#[derive(Clone, Copy)]
pub struct Card {
    soc: Typed,
    voltage: Typed,
    current: Typed,
    lowest: Typed,
    highest: Typed,
    temperature: Typed,
    answers: RwSignal<&'static str>,
    charge_off: RwSignal<&'static str>,
    discharge_off: RwSignal<&'static str>,
}

impl Card {
    pub fn empty() -> Card {
        let above_full = |value: f64| (value > 100.0).then_some(w::BANK_ABOVE_FULL);
        Card {
            soc: Typed::new(Kind::Percent).rule(above_full),
            voltage: Typed::new(Kind::Volts),
            current: Typed::new(Kind::Amperes),
            lowest: Typed::new(Kind::Volts),
            highest: Typed::new(Kind::Volts),
            temperature: Typed::new(Kind::Celsius),
            answers: RwSignal::new("unknown"),
            charge_off: RwSignal::new("unknown"),
            discharge_off: RwSignal::new("unknown"),
        }
    }

    fn fields(self) -> [Typed; 6] {
        [self.soc, self.voltage, self.current, self.lowest, self.highest, self.temperature]
    }

    fn answers(self) -> [RwSignal<&'static str>; 3] {
        [self.answers, self.charge_off, self.discharge_off]
    }

    /// Takes over what another card says.
    fn copy(self, other: Card) {
        for (to, from) in self.fields().into_iter().zip(other.fields()) {
            to.text.set(from.text.get_untracked());
        }
        for (to, from) in self.answers().into_iter().zip(other.answers()) {
            to.set(from.get_untracked());
        }
    }

    pub fn said(self) -> Said {
        let answer = |signal: RwSignal<&'static str>| match signal.get() {
            "yes" => Some(true),
            "no" => Some(false),
            _ => None,
        };
        Said {
            soc: self.soc.quantity(),
            voltage: self.voltage.quantity(),
            current: self.current.quantity(),
            lowest_cell: self.lowest.quantity(),
            highest_cell: self.highest.quantity(),
            temperature: self.temperature.quantity(),
            answering: answer(self.answers),
            charge_held_off: answer(self.charge_off),
            discharge_held_off: answer(self.discharge_off),
        }
    }

    /// What was entered, in one line.
    fn line(self) -> String {
        let app = app();
        let figures: Vec<String> = self
            .fields()
            .into_iter()
            .filter_map(|typed| typed.shown())
            .map(|shown| app.speaker().figure(shown.figure))
            .collect();
        if figures.is_empty() { app.word(w::BANK_MODULE_EMPTY).to_string() } else { figures.join(", ") }
    }
}

/// The fields of one card.
#[component]
pub fn CardFields(card: Card, #[prop(into)] id: String) -> impl IntoView {
    let app = app();
    let options = move || {
        vec![
            ("unknown", app.word(w::BANK_NOT_KNOWN), ""),
            ("yes", app.word(w::BANK_MODULE_YES), ""),
            ("no", app.word(w::BANK_MODULE_NO), ""),
        ]
    };
    view! {
        <div class="pair">
            <TypedField id=format!("{id}-soc") label=app.word(w::BANK_MODULE_SOC) typed=card.soc/>
            <TypedField id=format!("{id}-voltage") label=app.word(w::BANK_MODULE_VOLTAGE) typed=card.voltage/>
        </div>
        <TypedField id=format!("{id}-current") label=app.word(w::BANK_MODULE_CURRENT) hint=app.word(w::BANK_MODULE_CURRENT_HINT) typed=card.current signed=true/>
        <div class="pair">
            <TypedField id=format!("{id}-lowest") label=app.word(w::BANK_MODULE_LOWEST) typed=card.lowest/>
            <TypedField id=format!("{id}-highest") label=app.word(w::BANK_MODULE_HIGHEST) typed=card.highest/>
        </div>
        <TypedField id=format!("{id}-temperature") label=app.word(w::BANK_MODULE_TEMPERATURE) typed=card.temperature signed=true/>
        <Segments name=format!("{id}-answers") legend=app.word(w::BANK_MODULE_ANSWERS) options=options() chosen=card.answers/>
        <Segments name=format!("{id}-charge-off") legend=app.word(w::BANK_MODULE_CHARGE_OFF) options=options() chosen=card.charge_off/>
        {move || held_off(card.charge_off, 2)}
        <Segments name=format!("{id}-discharge-off") legend=app.word(w::BANK_MODULE_DISCHARGE_OFF) options=options() chosen=card.discharge_off/>
        {move || held_off(card.discharge_off, 1)}
    }
}

/// Where a module holds off, the way to what that means, by its code in status 11.
fn held_off(answer: RwSignal<&'static str>, value: u16) -> impl IntoView {
    let code = (answer.get() == "yes").then_some(Code::new(Vocabulary::RvcStatus11, value));
    alarm_links(app(), code)
}

/// One card a module: the one in hand, then all in a list.
#[component]
pub fn Cards(cards: StoredValue<Vec<Card>>, how: Memo<Option<Series>>) -> impl IntoView {
    let app = app();
    let at = RwSignal::new(0_u32);
    let count = Memo::new(move |_| how.get().map_or(0, |how| how.series * how.parallel));
    let current = Memo::new(move |_| at.get().min(count.get().saturating_sub(1)));
    let card_at = move |index: u32| cards.with_value(|cards| cards.get(index as usize).copied());
    let go = move |index: u32| {
        at.set(index);
        request_animation_frame(|| page::show_first(".module-card"));
    };
    let in_hand = move || {
        let (index, all) = (current.get(), count.get());
        let (how, card) = (how.get()?, card_at(index)?);
        let speaker = app.speaker();
        let title = speaker.fill(w::BANK_MODULE_CARD, &[("n", (index + 1).into()), ("all", all.into())]);
        let place = (how.series > 1).then(|| {
            let args = [("string", (index / how.series + 1).into()), ("module", (index % how.series + 1).into())];
            view! { <p class="hint">{speaker.fill(w::BANK_MODULE_PLACE, &args)}</p> }
        });
        let above = index.checked_sub(1).and_then(card_at);
        Some(view! {
            <section class="module-card">
                <h3>{title}</h3>
                {place}
                {above.map(|above| view! {
                    <button type="button" class="quiet" on:click=move |_| card.copy(above)>{app.word(w::BANK_MODULE_SAME)}</button>
                })}
                <CardFields card id=format!("m{}", index + 1)/>
                <div class="card-steps">
                    {(index > 0).then(|| view! {
                        <button type="button" class="quiet" on:click=move |_| go(index - 1)>{app.word(w::BANK_MODULE_BEFORE)}</button>
                    })}
                    {(index + 1 < all).then(|| view! {
                        <button type="button" class="quiet" on:click=move |_| go(index + 1)>{app.word(w::BANK_MODULE_AFTER)}</button>
                    })}
                </div>
            </section>
        })
    };
    let list = move || {
        (0..count.get())
            .filter_map(|index| {
                let card = card_at(index)?;
                Some(view! {
                    <li>
                        <button type="button" class="module-line" on:click=move |_| go(index)
                            aria-current=move || (current.get() == index).then_some("true")>
                            <span class="module-number">{index + 1}</span>
                            <span>{move || card.line()}</span>
                        </button>
                    </li>
                })
            })
            .collect_view()
    };
    view! {
        {in_hand}
        {move || match count.get() {
            0 => view! { <p class="hint">{app.word(w::BANK_MODULE_DESCRIBE_FIRST)}</p> }.into_any(),
            _ => view! { <h3>{app.word(w::BANK_MODULE_LIST)}</h3><ol class="rows module-lines">{list()}</ol> }.into_any(),
        }}
    }
}
