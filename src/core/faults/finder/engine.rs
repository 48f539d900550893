//! The reasoning in numbers: hypotheses, what each says of each check, Bayes, and what a check is expected to tell.
//!
//! The model, in full, so that it can be written again:
//!
//! - **Hypotheses**: nothing wrong, with the probability `nothing`; one fault, by its weight, `1 - nothing - two` together;
//!   two faults of different families, by the product of their weights, `two` together. Without such pairs (or faults),
//!   the others share what is left.
//! - **Two faults**: of the outcomes that each would give alone, drawn independently, the louder is there; outcomes are listed from
//!   quiet to loud. A row given for the pair itself goes before.
//! - **Answers**: an answer is the outcome that is there, or, with the probability `error`, any other one alike. The same check
//!   asked again meets the same outcome and errs anew.
//! - **A repair** takes its fault out of every hypothesis, but for a share `repair_fails`, and the checks can be asked anew.
//! - **What a check tells** is the mutual information of its next answer and the hypotheses, in bits.

use std::borrow::Cow;

/// One check over all hypotheses. Many hypotheses say the same of it: they share a row.
struct Rows {
    outcomes: usize,
    /// Row after row: the chance of each outcome being there, and of each answer if it was not asked before.
    rows: Vec<f64>,
    answers: Vec<f64>,
    /// Of each row, the sum of p·log2 p over its answers.
    order: Vec<f64>,
    /// The row of each hypothesis.
    row_of: Vec<u16>,
}

impl Rows {
    fn row(&self, row: usize) -> &[f64] {
        &self.rows[row * self.outcomes..(row + 1) * self.outcomes]
    }

    fn count(&self) -> usize {
        self.rows.len() / self.outcomes
    }

    fn index(&mut self, row: Vec<f64>) -> u16 {
        let known = (0..self.count()).find(|known| self.row(*known) == row);
        let index = known.unwrap_or_else(|| {
            self.rows.extend(row);
            self.count() - 1
        });
        index as u16
    }
}

/// The chance of each outcome of a check, for nothing wrong and then for each fault.
pub type Singles = Vec<Vec<f64>>;

/// What the engine is built of.
pub struct Plan {
    /// For each fault; 0 leaves it out.
    pub weights: Vec<f64>,
    pub families: Vec<usize>,
    pub nothing: f64,
    pub two: f64,
    pub error: f64,
    pub repair_fails: f64,
    pub checks: Vec<Singles>,
    /// Check, two faults in rising order, and the row of the pair.
    pub pairs: Vec<(usize, [usize; 2], Vec<f64>)>,
}

/// Hypotheses with all that they say.
pub struct Engine {
    /// `None` for no fault or no second one; rising.
    pub hypotheses: Vec<[Option<usize>; 2]>,
    pub prior: Vec<f64>,
    checks: Vec<Rows>,
    error: f64,
    repair_fails: f64,
    faults: usize,
}

/// Something learnt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Step {
    Answer { check: usize, outcome: usize },
    Repaired { fault: usize },
}

/// Where a story stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Belief {
    /// Of each hypothesis.
    pub now: Vec<f64>,
    /// At the start or after the last repair.
    pub start: Vec<f64>,
    /// What each check answered since: how likely its answers are if this outcome is there.
    pub answered: Vec<Option<Vec<f64>>>,
}

struct Outlook<'a> {
    answers: Cow<'a, [f64]>,
    order: Cow<'a, [f64]>,
    mass: Vec<f64>,
    any: Vec<f64>,
}

/// The sum of p·log2 p: how much order there is, in bits below zero.
fn order(row: &[f64]) -> f64 {
    row.iter().filter(|p| **p > 0.0).map(|p| p * p.log2()).sum()
}

/// The louder of two outcomes drawn independently.
fn louder(a: &[f64], b: &[f64]) -> Vec<f64> {
    let (mut below_a, mut below_b) = (0.0, 0.0);
    let step = |(a, b): (&f64, &f64)| {
        let before = below_a * below_b;
        below_a += a;
        below_b += b;
        below_a * below_b - before
    };
    a.iter().zip(b).map(step).collect()
}

impl Engine {
    pub fn new(plan: &Plan) -> Engine {
        let faults = plan.weights.len();
        let there: Vec<usize> = (0..faults).filter(|fault| plan.weights[*fault] > 0.0).collect();
        let mut hypotheses = vec![[None, None]];
        hypotheses.extend(there.iter().map(|fault| [Some(*fault), None]));
        for (index, &a) in there.iter().enumerate() {
            let others = there[index + 1..].iter().filter(|b| plan.families[a] != plan.families[**b]);
            hypotheses.extend(others.map(|b| [Some(a), Some(*b)]));
        }
        let weight = |hypothesis: &[Option<usize>; 2]| -> f64 {
            hypothesis.iter().flatten().map(|fault| plan.weights[*fault]).product()
        };
        let mut prior: Vec<f64> = hypotheses.iter().map(weight).collect();
        let share = [plan.nothing, 1.0 - plan.nothing - plan.two, plan.two];
        let (singles, pairs) = (1..1 + there.len(), 1 + there.len()..prior.len());
        for (range, share) in [0..1, singles, pairs].into_iter().zip(share) {
            let sum: f64 = prior[range.clone()].iter().sum();
            prior[range].iter_mut().for_each(|weight| *weight *= share / sum);
        }
        normalise(&mut prior);

        let mut index = vec![0; faults * faults];
        for (at, hypothesis) in hypotheses.iter().enumerate() {
            if let [Some(a), Some(b)] = hypothesis {
                index[a * faults + b] = at;
            }
        }
        let mut checks: Vec<Rows> = plan.checks.iter().map(|singles| rows(singles, &hypotheses)).collect();
        for (check, [a, b], row) in &plan.pairs {
            let at = index[a * faults + b];
            if at > 0 {
                let row = checks[*check].index(row.clone());
                checks[*check].row_of[at] = row;
            }
        }
        let mut engine =
            Engine { hypotheses, prior, checks, error: plan.error, repair_fails: plan.repair_fails, faults };
        for check in 0..engine.checks.len() {
            let answers = engine.answered(check, None);
            engine.checks[check].order = answers.chunks(engine.checks[check].outcomes).map(order).collect();
            engine.checks[check].answers = answers;
        }
        engine
    }

    /// Chance of an answer if an outcome is there.
    fn chance(&self, check: usize, outcome: usize, answer: usize) -> f64 {
        let others = self.checks[check].outcomes - 1;
        if others == 0 {
            1.0
        } else if answer == outcome {
            1.0 - self.error
        } else {
            self.error / others as f64
        }
    }

    /// Where the story stands after these steps. Steps of what is not there are passed over.
    pub fn believe(&self, steps: &[Step]) -> Belief {
        let none = || vec![None; self.checks.len()];
        let mut belief = Belief { now: self.prior.clone(), start: self.prior.clone(), answered: none() };
        for step in steps {
            match *step {
                Step::Answer { check, outcome }
                    if check < self.checks.len() && outcome < self.checks[check].outcomes =>
                {
                    let count = self.checks[check].outcomes;
                    let known = belief.answered[check].get_or_insert_with(|| vec![1.0; count]);
                    for (there, known) in known.iter_mut().enumerate() {
                        *known *= self.chance(check, there, outcome);
                    }
                    // Only their proportion counts.
                    normalise(known);
                }
                Step::Answer { .. } => {}
                Step::Repaired { fault } => {
                    let mut after = self.weighed(&belief);
                    self.repair(&mut after, fault);
                    belief = Belief { now: after.clone(), start: after, answered: none() };
                }
            }
        }
        belief.now = self.weighed(&belief);
        belief
    }

    fn weighed(&self, belief: &Belief) -> Vec<f64> {
        let mut now = belief.start.clone();
        for (check, known) in belief.answered.iter().enumerate() {
            if let Some(known) = known {
                let likely = self.likely(check, known);
                now.iter_mut().zip(&self.checks[check].row_of).for_each(|(p, row)| *p *= likely[*row as usize]);
                normalise(&mut now);
            }
        }
        now
    }

    /// Chance of what was answered, for each row of a check.
    fn likely(&self, check: usize, known: &[f64]) -> Vec<f64> {
        let rows = &self.checks[check];
        (0..rows.count()).map(|row| rows.row(row).iter().zip(known).map(|(a, b)| a * b).sum()).collect()
    }

    fn repair(&self, belief: &mut [f64], fault: usize) {
        let rest = |hypothesis: &[Option<usize>; 2]| match *hypothesis {
            [Some(a), other] if a == fault => Some([other, None]),
            [Some(a), Some(b)] if b == fault => Some([Some(a), None]),
            _ => None,
        };
        for at in 0..belief.len() {
            if let Some(rest) = rest(&self.hypotheses[at])
                && let Some(to) = self.hypotheses.iter().position(|other| *other == rest)
            {
                let cured = belief[at] * (1.0 - self.repair_fails);
                belief[at] -= cured;
                belief[to] += cured;
            }
        }
    }

    /// The chance of each outcome being there under a hypothesis.
    pub fn row(&self, check: usize, hypothesis: usize) -> &[f64] {
        self.checks[check].row(self.checks[check].row_of[hypothesis] as usize)
    }

    /// The chance that each fault is there, alone or with another.
    pub fn marginals(&self, belief: &[f64]) -> Vec<f64> {
        let mut list = vec![0.0; self.faults];
        for (hypothesis, p) in self.hypotheses.iter().zip(belief) {
            hypothesis.iter().flatten().for_each(|fault| list[*fault] += p);
        }
        list
    }

    /// Row after row of a check: the chance of each answer, given those before.
    fn answered(&self, check: usize, known: Option<&Vec<f64>>) -> Vec<f64> {
        let rows = &self.checks[check];
        let mut answers = vec![0.0; rows.rows.len()];
        for row in 0..rows.count() {
            let mut there = rows.row(row).to_vec();
            if let Some(known) = known {
                there.iter_mut().zip(known).for_each(|(there, known)| *there *= known);
                normalise(&mut there);
            }
            for (outcome, chance) in there.iter().enumerate().filter(|(_, chance)| **chance > 0.0) {
                for answer in 0..rows.outcomes {
                    answers[row * rows.outcomes + answer] += chance * self.chance(check, outcome, answer);
                }
            }
        }
        answers
    }

    /// What a check may answer: row after row, the order of each, the weight of its hypotheses, and of each answer.
    fn outlook(&self, belief: &Belief, check: usize) -> Outlook<'_> {
        let rows = &self.checks[check];
        let (answers, order) = match &belief.answered[check] {
            None => (Cow::Borrowed(rows.answers.as_slice()), Cow::Borrowed(rows.order.as_slice())),
            known => {
                let answers = self.answered(check, known.as_ref());
                let order = answers.chunks(rows.outcomes).map(order).collect();
                (Cow::Owned(answers), Cow::Owned(order))
            }
        };
        let mut mass = vec![0.0; rows.count()];
        rows.row_of.iter().zip(&belief.now).for_each(|(row, p)| mass[*row as usize] += p);
        let mut any = vec![0.0; rows.outcomes];
        for (row, mass) in answers.chunks(rows.outcomes).zip(&mass) {
            any.iter_mut().zip(row).for_each(|(any, chance)| *any += mass * chance);
        }
        Outlook { answers, order, mass, any }
    }

    /// The chance of each answer of a check.
    pub fn forecast(&self, belief: &Belief, check: usize) -> Vec<f64> {
        self.outlook(belief, check).any
    }

    /// The hypotheses after one more answer.
    pub fn after(&self, belief: &Belief, check: usize, answer: usize) -> Vec<f64> {
        let Outlook { answers, .. } = self.outlook(belief, check);
        let rows = &self.checks[check];
        let chance = |row: &u16| answers[*row as usize * rows.outcomes + answer];
        let mut then: Vec<f64> = belief.now.iter().zip(&rows.row_of).map(|(p, row)| p * chance(row)).collect();
        normalise(&mut then);
        then
    }

    /// What a check is expected to tell, bits.
    pub fn tells(&self, belief: &Belief, check: usize) -> f64 {
        let Outlook { order: orders, mass, any, .. } = self.outlook(belief, check);
        let each: f64 = mass.iter().zip(orders.iter()).map(|(mass, order)| mass * order).sum();
        (each - order(&any)).max(0.0)
    }

    /// What a check is expected to tell of one cause alone, a fault or nothing wrong: is it there or not? Bits.
    pub fn tells_of(&self, belief: &Belief, check: usize, cause: Option<usize>) -> f64 {
        let Outlook { answers, any, .. } = self.outlook(belief, check);
        let rows = &self.checks[check];
        let mut mass = vec![0.0; rows.count()];
        for ((row, p), hypothesis) in rows.row_of.iter().zip(&belief.now).zip(&self.hypotheses) {
            let has = if cause.is_some() { hypothesis.contains(&cause) } else { *hypothesis == [None, None] };
            if has {
                mass[*row as usize] += p;
            }
        }
        let with: f64 = mass.iter().sum();
        let mut there = vec![0.0; any.len()];
        for (row, mass) in answers.chunks(rows.outcomes).zip(&mass) {
            there.iter_mut().zip(row).for_each(|(there, chance)| *there += mass * chance);
        }
        let without = 1.0 - with;
        if with <= 0.0 || without <= 0.0 {
            return 0.0;
        }
        // H(answer) - H(answer | there or not), with each part weighed by its chance.
        let part = |joint: f64, chance: f64| if joint > 0.0 { joint * (joint / chance).log2() } else { 0.0 };
        let given: f64 =
            any.iter().zip(&there).map(|(any, there)| part(*there, with) + part((any - there).max(0.0), without)).sum();
        (given - order(&any)).max(0.0)
    }

    /// The hypotheses that are not too rare to decide anything.
    pub fn worth(&self, belief: &Belief) -> Vec<usize> {
        (0..belief.now.len()).filter(|at| belief.now[*at] >= 1e-5).collect()
    }

    /// The chance of the likeliest cause after a check, on average, by the hypotheses that are [`Engine::worth`] it.
    pub fn decides(&self, belief: &Belief, worth: &[usize], check: usize) -> f64 {
        let Outlook { answers, any, .. } = self.outlook(belief, check);
        let mut joint = vec![0.0; (self.faults + 1) * any.len()];
        for &at in worth {
            let row = &answers[self.checks[check].row_of[at] as usize * any.len()..][..any.len()];
            let mut add = |cause: usize| {
                let sums = &mut joint[cause * any.len()..][..any.len()];
                sums.iter_mut().zip(row).for_each(|(sum, chance)| *sum += belief.now[at] * chance);
            };
            match self.hypotheses[at] {
                [None, _] => add(self.faults),
                faults => faults.into_iter().flatten().for_each(&mut add),
            }
        }
        (0..any.len()).map(|answer| joint.iter().skip(answer).step_by(any.len()).copied().fold(0.0, f64::max)).sum()
    }

    /// How far the answers of a check speak for each cause, a fault or nothing wrong: the logarithm, in bits, of their chance with
    /// it over that without it, each weighed as before any answer. `None` where there were no answers.
    pub fn speaks(&self, belief: &Belief, check: usize, causes: &[Option<usize>]) -> Option<Vec<f64>> {
        let likely = self.likely(check, belief.answered.get(check)?.as_ref()?);
        // Summed apart: the one less the other would lose what is rare.
        let mut sums = vec![[[0.0; 2]; 2]; causes.len()];
        for ((hypothesis, row), p) in self.hypotheses.iter().zip(&self.checks[check].row_of).zip(&belief.start) {
            for (cause, sums) in causes.iter().zip(&mut sums) {
                let has = if cause.is_some() { hypothesis.contains(cause) } else { *hypothesis == [None, None] };
                let sum = &mut sums[usize::from(has)];
                *sum = [sum[0] + p * likely[*row as usize], sum[1] + p];
            }
        }
        let bits = |[without, with]: &[[f64; 2]; 2]| ((with[0] / with[1]) / (without[0] / without[1])).log2();
        Some(sums.iter().map(bits).collect())
    }
}

fn rows(singles: &Singles, hypotheses: &[[Option<usize>; 2]]) -> Rows {
    let mut rows = Rows {
        outcomes: singles[0].len(),
        rows: Vec::new(),
        answers: Vec::new(),
        order: Vec::new(),
        row_of: Vec::with_capacity(hypotheses.len()),
    };
    // Few rows differ: each pair of them is combined once.
    let alone: Vec<u16> = singles.iter().map(|row| rows.index(row.clone())).collect();
    let kinds = rows.count();
    let mut both: Vec<Option<u16>> = vec![None; kinds * kinds];
    for hypothesis in hypotheses {
        let row = match *hypothesis {
            [Some(a), Some(b)] => {
                let (a, b) = (alone[a + 1] as usize, alone[b + 1] as usize);
                let (a, b) = (a.min(b), a.max(b));
                match both[a * kinds + b] {
                    Some(row) => row,
                    None => {
                        let row = louder(rows.row(a), rows.row(b));
                        let row = rows.index(row);
                        both[a * kinds + b] = Some(row);
                        row
                    }
                }
            }
            [fault, _] => alone[fault.map_or(0, |fault| fault + 1)],
        };
        rows.row_of.push(row);
    }
    rows
}

fn normalise(list: &mut [f64]) {
    let sum: f64 = list.iter().sum();
    if sum > 0.0 {
        list.iter_mut().for_each(|p| *p /= sum);
    }
}
