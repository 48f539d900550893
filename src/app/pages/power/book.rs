//! Where the texts of the power side lie: on a page of its own while it is open, or in a job for good; and its fields.

use crate::app::device::clock;
use crate::app::frame::app;
use crate::app::pages::bank::{Segments, sentence};
use crate::app::pages::entries::part_of;
use crate::app::parts::field::NumberField;
use crate::app::parts::select::Select;
use crate::content::format::number;
use crate::content::words as w;
use crate::core::bank::table::{Question, Table};
use crate::core::because::Arg;
use crate::core::power::sheet::{Ask, Asked, Part, Reads, Sheet, key, read};
use crate::core::site::Site;
use crate::core::units::Kind;
use leptos::prelude::*;

/// More answers than this are a list.
const SIDE_BY_SIDE: usize = 4;

#[derive(Clone, Copy)]
pub struct Book {
    /// The texts of a page by itself.
    own: RwSignal<Table>,
    job: StoredValue<Option<(String, Site)>>,
    pub table: Memo<Table>,
}

impl Book {
    pub fn by_itself() -> Book {
        let own = RwSignal::new(Table::default());
        Book { own, job: StoredValue::new(None), table: Memo::new(move |_| own.get()) }
    }

    pub fn of_job(id: String, site: Site) -> Book {
        let table = part_of(&id, |job| job.power.clone());
        Book { own: RwSignal::new(Table::default()), job: StoredValue::new(Some((id, site))), table }
    }

    pub fn is_of_job(self) -> bool {
        self.job.with_value(Option::is_some)
    }

    fn put(self, key: &str, text: String) {
        match self.job.with_value(|job| job.as_ref().map(|(id, _)| id.clone())) {
            None => self.own.update(|table| table.put(key, text)),
            Some(id) => app().store.change(&id, |job| {
                job.power.put(key, text);
                job.power_at = Some(clock::now());
            }),
        }
    }

    /// Reads the sheets as they stand now, and again whenever a text changes.
    pub fn with<T>(self, read: impl FnOnce(&Sheet) -> T) -> T {
        self.table
            .with(|table| self.job.with_value(|job| read(&Sheet { table, site: job.as_ref().map(|(_, site)| site) })))
    }

    /// One thing that is asked for; nothing while it does not apply.
    pub fn ask(self, part: Part, id: &str, ask: &'static Ask) -> AnyView {
        let of = id.to_string();
        let applies = Memo::new(move |_| self.with(|sheet| sheet.applies(part, &of, ask)));
        let id = id.to_string();
        (move || applies.get().then(|| self.field(part, &id, ask))).into_any()
    }

    fn field(self, part: Part, id: &str, ask: &'static Ask) -> AnyView {
        let key = key(part, id, ask.key());
        match ask {
            Ask::Name => self.name(key),
            Ask::Figure(asked) => self.figure(part, id, key, *asked),
            Ask::Choose(question, reads) => self.question(part, id, key, *question, *reads),
        }
    }

    fn text(self, key: &str) -> Signal<String> {
        let key = key.to_string();
        Signal::derive(move || self.table.with(|table| table.text(&key).to_string()))
    }

    fn name(self, key: String) -> AnyView {
        let (text, id, of) = (self.text(&key), key.clone(), key.clone());
        view! {
            <div class="field">
                <label for=id>{app().speaker().name("power-name")}</label>
                <div class="entry">
                    <input id=key type="text" autocomplete="off" prop:value=move || text.get()
                        on:input=move |event| self.put(&of, event_target_value(&event))/>
                </div>
            </div>
        }
        .into_any()
    }

    fn figure(self, part: Part, id: &str, key: String, asked: Asked) -> AnyView {
        let speaker = app().speaker();
        let text = self.text(&key);
        let error = Signal::derive(move || text.with(|text| read(asked, text).err().map(|wrong| sentence(&wrong))));
        // What counts while the field is empty is said at it.
        let given = untrack(|| self.with(|sheet| sheet.given(part, id, asked.key)));
        let given = given.map(|figure| speaker.fill(w::POWER_GIVEN, &[("figure", figure.into())]));
        let hint = Some(speaker.name(&format!("power-{}-hint", asked.key)).to_string()).filter(|hint| !hint.is_empty());
        let hint = hint.into_iter().chain(given).collect::<Vec<String>>().join(" ");
        let label = speaker.name(&format!("power-{}", asked.key));
        let (signed, whole, unit, id) = (asked.signed, asked.kind == Kind::Count, asked.unit, key.clone());
        let put = move |text| self.put(&key, text);
        match hint.is_empty() {
            true => view! { <NumberField id label unit signed whole text error on_text=put/> }.into_any(),
            false => view! { <NumberField id label hint unit signed whole text error on_text=put/> }.into_any(),
        }
    }

    fn question(self, part: Part, id: &str, key: String, question: Question, reads: Reads) -> AnyView {
        let speaker = app().speaker();
        let label = speaker.name(&format!("power-{}", question.key));
        let of = id.to_string();
        let chosen = Signal::derive(move || self.with(|sheet| sheet.answer(part, &of, question)));
        let name = key.clone();
        if question.answers.len() <= SIDE_BY_SIDE && reads == Reads::Named {
            let titled =
                |answer: &&'static str| (*answer, speaker.name(&format!("power-{}-{answer}", question.key)), "");
            let options = question.answers.iter().map(titled).collect();
            let put = Callback::new(move |answer: &'static str| self.put(&key, answer.to_string()));
            return view! { <Segments name legend=label options chosen on_choose=put/> }.into_any();
        }
        let options = question.answers.iter().map(|answer| (*answer, answered(question, reads, answer))).collect();
        let put = move |answer| self.put(&key, answer);
        let hint = speaker.name(&format!("power-{}-hint", question.key)).to_string();
        match hint.is_empty() {
            true => view! { <Select id=name label options chosen on_choose=put/> }.into_any(),
            false => view! { <Select id=name label hint options chosen on_choose=put/> }.into_any(),
        }
    }
}

/// An answer as it reads.
pub fn answered(question: Question, reads: Reads, answer: &str) -> String {
    let speaker = app().speaker();
    let named = || speaker.name(&format!("power-{}-{answer}", question.key)).to_string();
    match reads {
        _ if answer == "unknown" => named(),
        Reads::Named => named(),
        Reads::Gauges => speaker.fill(w::POWER_GAUGE, &[("size", Arg::Name(answer.to_string()))]),
        Reads::Printed(unit) => {
            let number = answer.parse().map(|value| number(value, 2, speaker.style));
            format!("{}\u{a0}{unit}", number.unwrap_or_else(|_| answer.to_string()))
        }
    }
}
