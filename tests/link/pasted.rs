//! What people paste: a link with a chat around it.

use crate::jobs;
use proptest::prelude::*;
use sixty_ohms::core::job::Job;
use sixty_ohms::core::job::link::{self, Broken, Leave, MOST_TEXT, Opened};

const ADDRESS: &str = "https://example.org/ohms/";

fn job() -> Job {
    jobs::with_readings(jobs::draft("otter"), 20, jobs::NOTE)
}

fn is_opened(text: &str) -> bool {
    matches!(link::open(text), Ok(Opened::Job(opened, _)) if *opened == job())
}

fn wrapped(text: &str, width: usize, between: &str) -> String {
    let chars: Vec<char> = text.chars().collect();
    chars.chunks(width).map(|line| line.iter().collect::<String>()).collect::<Vec<_>>().join(between)
}

#[test]
fn a_link_is_found_in_what_chats_make_of_it() {
    let packed = link::pack(&job(), &Leave::default());
    for (payload, whole) in
        [(packed.letters(), packed.link(ADDRESS)), (packed.digits(), format!("{ADDRESS}#{}", packed.digits()))]
    {
        let check = |text: String| assert!(is_opened(&text), "{text}");
        check(payload.clone());
        check(format!("  \"{payload}\"\n"));
        check(format!("#{payload}"));
        check(whole.clone());
        check(format!("The bank on berth 14:\n\n{whole}\n\nCall me when you have it."));
        check(format!("See <{whole}>, or call."));
        check(format!("[the job]({whole})."));
        check(format!("«{whole}»"));
        check(format!("{whole}. Thanks"));
        check(format!("{whole}&source=chat"));
        check(format!("{ADDRESS}?from=chat#{payload}"));
        check(format!("Look at #7 and {ADDRESS}#/jobs first, no hurry: {whole}"));
        check(whole.replace('#', "%23"));
        check(whole.replace('-', "%2D").replace('_', "%5f"));
        check(whole.replace("--", "—"));
        for width in [20, 60, 76, 998] {
            check(wrapped(&whole, width, "\n"));
            check(wrapped(&whole, width, "\r\n> "));
            check(wrapped(&whole, width, "=\r\n"));
            check(format!("It is here:\n{}\nand more below", wrapped(&whole, width, " ")));
        }
        check(wrapped(&whole, 40, "\u{200b}"));
        let broken = whole.replace(&payload[10..14], "");
        check(format!("{broken}\n{whole}"));
    }
}

#[test]
fn what_is_wrong_is_told() {
    let packed = link::pack(&job(), &Leave::default());
    let whole = packed.link(ADDRESS);
    let is = |text: &str| link::open(text).unwrap_err();
    for text in [
        "",
        " ",
        "#",
        "o",
        "n",
        "oz",
        "no",
        "hello",
        "on the way, call me",
        "nothing",
        "next: n12",
        "https://example.org/ohms/",
        "https://example.org/ohms/#/job/mif1x2c9k7qe",
        "#/jobs",
        "#o",
        "%",
        "%2",
        "%23",
        "é#",
        "#oé",
        "— – ‑",
        "\u{0}",
    ] {
        assert_eq!(is(text), Broken::NotALink, "{text:?}");
    }
    assert_eq!(is(&whole[..whole.len() - 1]), Broken::Damaged);
    assert_eq!(is(&whole[..whole.len() / 2]), Broken::Damaged);
    assert_eq!(is(&whole.to_lowercase()), Broken::Damaged);
    assert_eq!(is(&format!("{}…", &whole[..400])), Broken::Damaged);
    assert_eq!(is(&"a".repeat(MOST_TEXT + 1)), Broken::TooBig);
}

/// A job beyond a limit is packed all the same, says so, and is not opened half.
#[test]
fn what_is_beyond_the_limits_says_so() {
    let over = |job: Job| {
        let packed = link::pack(&job, &Leave::NOTHING);
        assert!(packed.over);
        assert_eq!(packed.length(ADDRESS), link::Length::TooLong);
        assert!(sixty_ohms::core::job::code::code(ADDRESS, &packed).is_none());
        link::open_payload(&packed.payload).is_err()
    };
    assert!(over(Job { id: "x".repeat(link::MOST_CHARS + 1), ..Job::default() }));
    assert!(over(Job { notes: "é".repeat(link::MOST_NOTES + 1), ..Job::default() }));
    let job = job();
    let many = |count: usize| Job {
        observations: job.observations.iter().cycle().take(count).cloned().collect(),
        ..job.clone()
    };
    over(many(5_001));
    let notes = Job { notes: "é".repeat(link::MOST_NOTES / 2), ..Job::default() };
    assert!(!link::pack(&notes, &Leave::NOTHING).over);
    for (count, length) in
        [(1, link::Length::Good), (100, link::Length::Fair), (250, link::Length::Long), (900, link::Length::TooLong)]
    {
        let packed = link::pack(&many(count), &Leave::NOTHING);
        assert_eq!(packed.length(ADDRESS), length, "{} characters", packed.link(ADDRESS).len());
    }
}

proptest! {
    #[test]
    fn no_text_is_too_odd(text in "\\PC{0,200}", at in 0usize..600, put in "[ -~\\n]{0,40}") {
        let _ = link::open(&text);
        let mut whole = link::pack(&job(), &Leave::default()).link(ADDRESS);
        whole.insert_str(at.min(whole.len()), &put);
        if let Ok(opened) = link::open(&whole) {
            prop_assert!(matches!(opened, Opened::Job(opened, _) if *opened == job()));
        }
    }
}
