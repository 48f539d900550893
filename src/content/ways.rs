//! Do two ends go together: the ways and what stands in them, in words.

use crate::content::speak::Speaker;
use crate::content::words as w;
use crate::core::because::Arg;
use crate::core::site::End;
use crate::core::site::compat::{Ended, Obstacle, Way};

impl Speaker<'_> {
    /// A way, line by line: lead and adapter, profile, the terminators, the links.
    pub fn way(&self, way: &Way<'_>) -> Vec<String> {
        let name = |text: String| Arg::Name(text);
        let mut lines = vec![self.fill(w::TOGETHER_LEAD, &[("lead", name(self.lead(way.bus)))])];
        lines.extend(way.adapter.map(|lead| self.fill(w::TOGETHER_LEAD, &[("lead", name(self.lead(lead)))])));
        let protocol = self.name(&format!("protocol-{}", way.profile.protocol)).to_string();
        let args = [("protocol", name(protocol)), ("rate", way.profile.bit_rate.into())];
        lines.push(self.fill(w::TOGETHER_PROFILE, &args));
        for (end, ended) in [(End::Bank, way.at_bank), (End::Monitor, way.at_monitor)] {
            let what = match ended {
                Ended::Inside => self.word(w::TOGETHER_INSIDE).to_string(),
                Ended::Plug(plug) => self.terminator(plug),
            };
            lines.push(self.fill(w::TOGETHER_END, &[("end", end.into()), ("what", name(what))]));
        }
        lines.extend(way.link.map(|link| self.fill(w::TOGETHER_LINK, &[("lead", name(self.lead(link)))])));
        lines
    }

    /// What is in the way, as one sentence.
    pub fn obstacle(&self, obstacle: &Obstacle<'_>) -> String {
        let template = self.name(&format!("way-{}", obstacle.key()));
        match obstacle {
            Obstacle::Crossed { lead, wanted, got } => {
                let to = match got {
                    Some(pin) => self.template(self.name("way-to-pin"), &[("pin", u32::from(*pin).into())]),
                    None => self.name("way-nowhere").to_string(),
                };
                let args = [
                    ("lead", Arg::Name(self.lead(lead))),
                    ("wanted", u32::from(*wanted).into()),
                    ("to", Arg::Name(to)),
                ];
                self.template(template, &args)
            }
            Obstacle::NoTerminator { end } => self.template(template, &[("end", (*end).into())]),
            _ => template.to_string(),
        }
    }
}
