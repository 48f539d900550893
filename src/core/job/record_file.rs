//! A record as a file that also holds its job: a page that any browser shows, with the job's stored text in a data block.
//! Share sheets carry a page where they refuse JSON.

/// The longest file that is looked at, in bytes: a record with its pictures.
pub const MOST_FILE: usize = 8 << 20;
/// The longest text of a job in it, in bytes, and the most objects: together they keep what reading takes below 16 MiB, as
/// `tests/hostile` measures. A job with a thousand observations has about 150 kB and four thousand objects.
pub const MOST_JOB: usize = 256 << 10;
pub const MOST_OBJECTS: usize = 8_000;

const BEGIN: &str = r#"<script type="application/json" id="job">"#;
const END: &str = "</script>";

/// Why a file gives no job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoJob {
    TooBig,
    /// There is no data block of a job in it.
    NotThere,
}

impl NoJob {
    pub const ALL: &'static [NoJob] = &[NoJob::TooBig, NoJob::NotThere];

    /// The key of its sentence, after `file-problem-`.
    pub fn key(self) -> &'static str {
        match self {
            NoJob::TooBig => "too-big",
            NoJob::NotThere => "not-there",
        }
    }
}

/// Will [`find`] give this text back? A job that does not fit travels as a backup.
pub fn fits(stored: &str) -> bool {
    stored.len() <= MOST_JOB && stored.bytes().filter(|byte| *byte == b'{').count() <= MOST_OBJECTS
}

/// The data block of a job's stored text. Nothing that a person typed can end it: `<`, `>` and `&` stand in it as escapes
/// of JSON, in whose text they occur inside strings only.
pub fn block(stored: &str) -> String {
    let mut inside = String::with_capacity(stored.len() + BEGIN.len() + END.len());
    inside.push_str(BEGIN);
    for c in stored.chars() {
        match c {
            '<' => inside.push_str("\\u003c"),
            '>' => inside.push_str("\\u003e"),
            '&' => inside.push_str("\\u0026"),
            '\u{2028}' => inside.push_str("\\u2028"),
            '\u{2029}' => inside.push_str("\\u2029"),
            other => inside.push(other),
        }
    }
    inside.push_str(END);
    inside
}

/// The page with the job's stored text in it: before the end of its body, or at its own end.
pub fn embed(page: &str, stored: &str) -> String {
    let at = page.rfind("</body>").unwrap_or(page.len());
    format!("{}{}\n{}", &page[..at], block(stored), &page[at..])
}

/// The job's stored text in a page of anybody's, to be read by [`crate::core::job::stored::open`].
pub fn find(page: &str) -> Result<&str, NoJob> {
    if page.len() > MOST_FILE {
        return Err(NoJob::TooBig);
    }
    let mut rest = page;
    while let Some(start) = find_caseless(rest, "<script") {
        rest = &rest[start + "<script".len()..];
        let Some(close) = rest.find('>') else { break };
        let (tag, inside) = (&rest[..close], &rest[close + 1..]);
        let end = find_caseless(inside, "</script").unwrap_or(inside.len());
        if is_ours(tag) {
            let text = inside[..end].trim();
            return if fits(text) { Ok(text) } else { Err(NoJob::TooBig) };
        }
        rest = &inside[end..];
    }
    Err(NoJob::NotThere)
}

/// Has the tag our type and our name? Programs that keep pages write attributes in their own way.
fn is_ours(tag: &str) -> bool {
    let flat: String = tag.chars().filter(|c| !matches!(c, '"' | '\'')).collect::<String>().to_lowercase();
    let mut attributes = flat.split_whitespace();
    let both = attributes.clone().any(|one| one == "type=application/json") && attributes.any(|one| one == "id=job");
    both && tag.starts_with(char::is_whitespace)
}

fn find_caseless(text: &str, what: &str) -> Option<usize> {
    let (text, what) = (text.as_bytes(), what.as_bytes());
    text.windows(what.len()).position(|window| window.eq_ignore_ascii_case(what))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::core::job::stored::{self, Stored};
    use crate::core::job::{Job, Moment};
    use serde_json::Map;

    fn kept(notes: &str) -> Stored {
        let job = Job { id: "a1".into(), notes: notes.into(), ..Job::default() };
        Stored { rev: 3, saved_at: Moment(5), writes: Default::default(), job, rest: Map::new() }
    }

    const PAGE: &str =
        "<!doctype html><html><head><SCRIPT>var x = '</p>';</SCRIPT></head><body><p>Record</p></body></html>";

    #[test]
    fn hostile_notes_stay_inside() {
        for notes in [
            "</script><script>alert(1)</script>",
            "<!-- <script>",
            "-->",
            "]]>",
            "&lt;/script&gt;",
            "\u{2028}",
            "\\u003c",
        ] {
            let kept = kept(notes);
            let page = embed(PAGE, &kept.text());
            let inside = block(&kept.text());
            assert!(!inside[BEGIN.len()..inside.len() - END.len()].contains(['<', '>', '&']), "{inside}");
            assert_eq!(stored::open(find(&page).unwrap()), Ok(kept));
            assert!(page.ends_with("</body></html>"));
        }
    }

    #[test]
    fn a_page_that_another_program_kept_is_read_too() {
        let page = embed(PAGE, &kept("as left").text());
        let other = page.replace(r#"type="application/json" id="job""#, "ID=job  type='application/json'");
        assert_eq!(stored::open(find(&other).unwrap()), Ok(kept("as left")));
        assert_eq!(embed("<p>bare", "{}"), "<p>bare<script type=\"application/json\" id=\"job\">{}</script>\n");
    }

    #[test]
    fn a_page_without_a_job_gives_none() {
        for page in
            ["", "<script", "<script>", PAGE, "<scripts type=application/json id=job>{}", "<script id=job>{}</script>"]
        {
            assert_eq!(find(page), Err(NoJob::NotThere), "{page}");
        }
        assert_eq!(find(&" ".repeat(MOST_FILE + 1)), Err(NoJob::TooBig));
        assert_eq!(find(&embed(PAGE, &"1".repeat(MOST_JOB + 1))), Err(NoJob::TooBig));
    }
}
