//! Where the texts of a bank's table lie: on a page of its own while it is open, or in a job for good.

use super::parts::Segments;
use crate::app::device::clock;
use crate::app::frame::app;
use crate::app::pages::entries::part_of;
use crate::app::parts::field::NumberField;
use crate::content::words::{self as w, Word};
use crate::core::bank::findings::Held;
use crate::core::bank::findings::numbers::Series;
use crate::core::bank::modules::BankError;
use crate::core::bank::shown::What;
use crate::core::bank::table::{Item, Of, Question, Rule, Table, Wrong};
use crate::core::job::bank::check_of;
use crate::core::job::check::Check;
use crate::core::job::{Job, Observation, Seen, Subject};
use crate::core::site::Site;
use crate::core::units::Kind;
use leptos::prelude::*;
use std::sync::Arc;

#[derive(Clone, Copy)]
pub struct Book {
    /// The texts of a page by itself.
    own: RwSignal<Table>,
    job: StoredValue<Option<(String, Site)>>,
    pub table: Memo<Table>,
    /// None before it is said how the modules sit.
    pub held: Memo<Option<Result<Held, BankError>>>,
    pub how: Memo<Option<Series>>,
}

impl Book {
    pub fn by_itself() -> Book {
        let own = RwSignal::new(Table::default());
        let table = Memo::new(move |_| own.get());
        let held = Memo::new(move |_| {
            table.with(|table| {
                Some(table.bank(None)?.and_then(|bank| Held::of(&bank, &table.display(), &table.asks(None))))
            })
        });
        let how = Memo::new(move |_| table.with(|table| table.how(None)));
        Book { own, job: StoredValue::new(None), table, held, how }
    }

    pub fn of_job(id: String, site: Site) -> Book {
        let table = part_of(&id, |job| job.bank.clone());
        let job = part_of(&id, Job::clone);
        let now = site.clone();
        let held = Memo::new(move |_| {
            let beyond = || Err(BankError::NoModules);
            Some(job.with(|job| job.held(&now).map_or_else(beyond, Ok)))
        });
        let how = Series { series: site.series, parallel: site.parallel };
        let job = StoredValue::new(Some((id, site)));
        Book { own: RwSignal::new(Table::default()), job, table, held, how: Memo::new(move |_| Some(how)) }
    }

    pub fn change(self, change: impl FnOnce(&mut Table)) {
        match self.id() {
            None => self.own.update(change),
            Some(id) => app().store.change(&id, |job| {
                change(&mut job.bank);
                job.bank_at = Some(clock::now());
            }),
        }
    }

    pub fn id(self) -> Option<String> {
        self.job.with_value(|job| job.as_ref().map(|(id, _)| id.clone()))
    }

    /// The check of the job that asks for this figure, with the job.
    fn check(self, what: What) -> Option<(String, Check)> {
        Some((self.id()?, check_of(what)?))
    }

    /// A field of the table.
    pub fn field(self, of: Of, item: Item, label: Word, hint: Option<Word>) -> AnyView {
        let key = of.key(item.key);
        let text = {
            let key = key.clone();
            Signal::derive(move || self.table.with(|table| table.text(&key).to_string()))
        };
        let id = key.clone();
        let put = move |text| self.change(|table| table.put(&key, text));
        draw(id, item, label, hint, text, Callback::new(put), None)
    }

    /// A figure that the display shows: in a job that of its check, if one asks for it.
    pub fn shown_field(self, what: What, label: Word) -> AnyView {
        let item = Item::shown(what);
        let Some((id, check)) = self.check(what) else { return self.field(Of::Bank, item, label, None) };
        let text = part_of(&id, move |job| match job.pending.get(check.key()) {
            Some(text) => text.clone(),
            None => job.last(&Subject::Check(check)).map(|seen| seen.typed.clone()).unwrap_or_default(),
        });
        let to = id.clone();
        let put = move |text: String| {
            app().store.change(&to, |job| {
                job.pending.insert(check.key().into(), text);
            })
        };
        // Taken as a reading, with its time, once it is left; also when that is by leaving the page.
        let store = app().store;
        let settle = move || {
            store.change(&id, |job| {
                let Some(typed) = job.pending.get(check.key()).cloned() else { return };
                let subject = Subject::Check(check);
                let seen = match item.read(&typed) {
                    Ok(Some(shown)) => Seen::Figure(shown),
                    // Emptied: what was read before no longer counts.
                    Ok(None) if job.last(&subject).is_some() => Seen::Withdrawn,
                    _ => return,
                };
                job.pending.remove(check.key());
                job.see(Observation::new(subject, clock::now(), seen, typed));
            });
        };
        draw(item.key.into(), item, label, None, text.into(), Callback::new(put), Some(Arc::new(settle)))
    }

    /// A question of the table.
    pub fn question(self, of: Of, question: Question, legend: Word, answers: &[(Word, Option<Word>)]) -> AnyView {
        let app = app();
        let key = of.key(question.key);
        let options = question
            .answers
            .iter()
            .zip(answers)
            .map(|(answer, (title, about))| (*answer, app.word(*title), about.map_or("", |about| app.word(about))))
            .collect();
        let chosen = Signal::derive(move || self.table.with(|table| table.answer(of, question)));
        let name = key.clone();
        let put = move |answer: &'static str| self.change(|table| table.put(&key, answer.to_string()));
        view! { <Segments name legend=app.word(legend) options chosen on_choose=Callback::new(put)/> }.into_any()
    }
}

/// What is done when a field is left. Not a [`Callback`]: a page that goes takes its callbacks along, and only then tells
/// its field that it is left.
type Settle = Arc<dyn Fn() + Send + Sync>;

fn run(settle: &Option<Settle>) {
    if let Some(settle) = settle {
        settle();
    }
}

/// The sentence at a field.
pub fn sentence(wrong: &Wrong) -> String {
    let app = app();
    match wrong {
        Wrong::Unreadable(why) => app.speaker().unreadable(why),
        Wrong::Breaks(rule) => app
            .word(match rule {
                Rule::UpToFull => w::BANK_ABOVE_FULL,
                Rule::AtLeastOne => w::BANK_AT_LEAST_ONE,
                Rule::Cells => w::BANK_TOO_MANY_CELLS,
                Rule::NotBelowZero | Rule::Any => w::ENTRY_BELOW_ZERO,
            })
            .to_string(),
    }
}

fn draw(
    id: String,
    item: Item,
    label: Word,
    hint: Option<Word>,
    text: Signal<String>,
    put: Callback<String>,
    settle: Option<Settle>,
) -> AnyView {
    let app = app();
    let error = Signal::derive(move || text.with(|text| item.read(text).err().map(|wrong| sentence(&wrong))));
    let hint = hint.map_or("", |hint| app.word(hint));
    let (on_leave, on_enter) = (settle.clone(), settle);
    let on_enter = Callback::new(move |()| run(&on_enter));
    view! {
        <div on:focusout=move |_| run(&on_leave)>
            <NumberField id label=app.word(label) hint unit=item.kind.symbol() signed=item.signed
                whole=item.kind == Kind::Count text error on_text=move |text| put.run(text) on_enter/>
        </div>
    }
    .into_any()
}
