//! Finding alarms by what is typed.

use crate::content::schema::{Alarm, Language};

impl Language {
    /// The alarms in which every typed word occurs; those with it in the title first, then the most urgent. Nothing
    /// typed: all of them.
    pub fn alarms_with(&self, typed: &str) -> Vec<&Alarm> {
        let typed = typed.to_lowercase();
        let words: Vec<&str> = typed.split_whitespace().collect();
        let mut found: Vec<(usize, &Alarm)> = self
            .alarms
            .iter()
            .filter_map(|alarm| {
                let title = alarm.title.to_lowercase();
                let whole =
                    format!("{title} {} {}", alarm.meaning.to_lowercase(), alarm.causes.join(" ").to_lowercase());
                let in_title = words.iter().filter(|word| title.contains(**word)).count();
                words.iter().all(|word| whole.contains(word)).then_some((words.len() - in_title, alarm))
            })
            .collect();
        found.sort_by_key(|(missing, alarm)| (*missing, alarm.urgency));
        found.into_iter().map(|(_, alarm)| alarm).collect()
    }
}
