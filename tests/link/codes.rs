//! Codes, read by a reader that is not ours from a picture that a camera might see.

use crate::goldens;
use crate::jobs;
use sixty_ohms::core::job::Job;
use sixty_ohms::core::job::code::{Code, Level, QUIET, code};
use sixty_ohms::core::job::link::{Leave, Opened, open, pack};

const ADDRESS: &str = "https://example.org/ohms/";

/// A picture in grey: width, and the points row by row.
struct Picture {
    side: usize,
    points: Vec<u8>,
}

impl Picture {
    /// The code with its quiet zone as a lens with a soft focus would show it: so many points a module, turned by an angle,
    /// each point the mean of a square of so many modules.
    fn of(code: &Code, scale: f64, angle: f64, soft: f64) -> Picture {
        let width = (code.size + 2 * QUIET) as f64;
        let side = (width * scale * 1.2) as usize;
        let (sine, cosine) = angle.to_radians().sin_cos();
        let is_dark = |x: f64, y: f64| {
            let (x, y) = (x / scale - width * 0.6, y / scale - width * 0.6);
            let middle = code.size as f64 / 2.0;
            let (column, row) = (x * cosine + y * sine + middle, y * cosine - x * sine + middle);
            column >= 0.0 && row >= 0.0 && code.is_dark(column as usize, row as usize)
        };
        let reach = soft * scale;
        let parts: &[f64] = if soft > 0.0 { &[-0.375, -0.125, 0.125, 0.375] } else { &[0.0] };
        let offsets: Vec<f64> = parts.iter().map(|part| part * reach + 0.5).collect();
        let all = offsets.len() * offsets.len();
        let grey = |point: usize| {
            let (x, y) = ((point % side) as f64, (point / side) as f64);
            let dark = offsets.iter().flat_map(|dy| offsets.iter().map(move |dx| (dx, dy)));
            let dark = dark.filter(|(dx, dy)| is_dark(x + *dx, y + *dy)).count();
            230 - (dark * 205 / all) as u8
        };
        Picture { side, points: (0..side * side).map(grey).collect() }
    }

    fn read(&self) -> Option<String> {
        let mut picture =
            rqrr::PreparedImage::prepare_from_greyscale(self.side, self.side, |x, y| self.points[y * self.side + x]);
        let grids = picture.detect_grids();
        grids.iter().find_map(|grid| Some(grid.decode().ok()?.1))
    }
}

#[test]
fn another_reader_reads_the_link() {
    let mut drawn = 0;
    for (name, packed) in goldens::all() {
        let Some(code) = code(ADDRESS, &packed) else { panic!("{name} fits no code") };
        let link = format!("{ADDRESS}#{}", packed.digits());
        // Points a module, degrees, and how far a point is smeared, in modules. This reader loses large codes out of focus;
        // the one of tests/crosscheck/crosscheck_link.py does not.
        for (scale, angle, soft) in [(3.0, 0.0, 0.0), (5.5, 0.0, 0.0), (5.0, 7.0, 0.2)] {
            let picture = Picture::of(&code, scale, angle, soft);
            assert_eq!(picture.read().as_deref(), Some(link.as_str()), "{name} at {scale}, {angle}°, {soft}");
            drawn += 1;
        }
        assert!(open(&link).is_ok());
    }
    println!("{drawn} pictures read");
}

#[test]
fn jobs_fit_one_code() {
    let of = |what: &str, job: &Job| {
        let code = code(ADDRESS, &pack(job, &Leave::default())).expect(what);
        println!("{what}: version {}, level {:?}", code.version, code.level);
        code
    };
    let forty = of("4 modules, 40 readings, a note", &jobs::with_readings(jobs::draft("otter"), 40, jobs::NOTE));
    assert!(forty.version <= 20 && forty.level == Level::M);
    let lark = of("Lark, complete", &jobs::lark());
    assert!(lark.version <= 22 && lark.level == Level::M);
    assert!(code(ADDRESS, &pack(&jobs::with_readings(jobs::draft("otter"), 400, ""), &Leave::default())).is_none());
}

#[test]
fn a_code_opens_as_the_job() {
    let job = jobs::lark();
    let text = Picture::of(&code(ADDRESS, &pack(&job, &Leave::NOTHING)).unwrap(), 4.0, 0.0, 0.0).read().unwrap();
    assert!(matches!(open(&text), Ok(Opened::Job(opened, _)) if *opened == job));
}
