use super::*;
use crate::judge::verdict::Window;
use crate::trial::anova;
use crate::trial::anova::tests::small_study;
use crate::trial::read::Key;
use crate::trial::study::Counts;
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

fn series(analysis: Analysis, limits: Window, mean: f64) -> Series {
    let text = String::from;
    let key = Key {
        quantity: text("idle_current"),
        step: text("feed on"),
        place: text(""),
        unit: text("A"),
    };
    Series { key, limits, mean, stated: None, analysis: Ok(analysis) }
}

fn crossed(cells: &[Vec<Vec<f64>>]) -> Analysis {
    let counts =
        Counts { modules: cells.len(), operators: cells[0].len(), passes: cells[0][0].len() };
    Analysis::Crossed(anova::two_way(cells).expect("balanced"), counts)
}

/// The same values as in the test of the analysis; components out of the mean squares of
/// statsmodels 0.15.0. The interaction comes out below zero.
#[test]
fn parts_of_a_small_study() {
    let cells = small_study();
    let parts = parts(&crossed(&cells), None, 0.05);
    let near = |part: Part, variance: f64| (part.deviation.powi(2) / variance - 1.0).abs() < 1e-9;
    // The interaction is pooled: sums of squares 0.0074 and 0.00235833 over 12 and 6 degrees of freedom.
    let error = (0.007_4 + 0.002_358_333_333_333_7) / 18.0;
    let operators = (0.040_508_333_333_329 / 2.0 - error) / 8.0;
    assert!(near(parts.repeatability, 0.007_4 / 12.0));
    assert!(near(parts.operators.expect("several"), operators));
    assert!(near(parts.modules, (1.637_066_666_666_66 / 3.0 - error) / 6.0));
    let interaction = parts.interaction.expect("several");
    assert_eq!((interaction.deviation, interaction.is_none), (0.0, true));
    assert!((parts.bench.powi(2) - error - operators).abs() < 1e-9);
}

/// Studies drawn from known components give them back on average, and the interval holds the true
/// share in about 95 of 100 of them (Satterthwaite's is an approximation).
#[test]
fn drawn_studies_give_back_what_they_were_drawn_from() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(4);
    let mut draw = |deviation: f64| -> f64 {
        let unit: f64 = StandardNormal.sample(&mut rng);
        deviation * unit
    };
    const STUDIES: usize = 2_000;
    let (modules, operators, repeat) = (3.0, 0.5, 1.0f64);
    let truth = (operators * operators + repeat * repeat).sqrt();
    let (mut of_modules, mut of_repeat, mut held) = (0.0, 0.0, 0);
    for _ in 0..STUDIES {
        let by: Vec<f64> = (0..3).map(|_| draw(operators)).collect();
        let cells: Vec<Vec<Vec<f64>>> = (0..6)
            .map(|_| {
                let module = draw(modules);
                by.iter()
                    .map(|operator| (0..3).map(|_| module + operator + draw(repeat)).collect())
                    .collect()
            })
            .collect();
        let series = series(crossed(&cells), Window::between(-30.0, 30.0), 0.0);
        let judged = judge(&series, 1);
        let parts = judged.parts.expect("analysed");
        of_modules += parts.modules.deviation.powi(2) / STUDIES as f64;
        of_repeat += parts.repeatability.deviation.powi(2) / STUDIES as f64;
        let share = judged.share.expect("limits");
        held += usize::from((share.from..=share.to).contains(&(truth / 10.0)));
    }
    // Four standard deviations of the means: a variance with k degrees of freedom scatters by
    // √(2/k); 5 between modules, 36 within cells.
    let bound = |dof: f64| 4.0 * (2.0 / dof / STUDIES as f64).sqrt();
    assert!((of_repeat - 1.0).abs() < bound(36.0), "{of_repeat}");
    assert!((of_modules / 9.0 - 1.0).abs() < bound(5.0) * 1.1, "{of_modules}");
    let share = held as f64 / STUDIES as f64;
    assert!((0.90..=0.99).contains(&share), "{share}");
}

/// A thing that the module draws anew scatters far more than the bench can: the bench is told by what its
/// readings state, and by its operators where they differ. An F-test finds operators who do nothing in one
/// study of twenty.
#[test]
fn what_a_module_draws_anew_is_not_the_benchs() {
    const STUDIES: usize = 200;
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(9);
    let mut study = |operators: f64| {
        let mut cells = vec![vec![Vec::new(); 3]; 8];
        for (module, row) in cells.iter_mut().enumerate() {
            for (operator, cell) in row.iter_mut().enumerate() {
                for _ in 0..3 {
                    let z: f64 = StandardNormal.sample(&mut rng);
                    cell.push(10.0 + module as f64 * 0.1 + operator as f64 * operators + z);
                }
            }
        }
        series(crossed(&cells), Window::between(7.0, 13.0), 10.0)
    };
    let mut good_enough = [0, 0];
    for _ in 0..STUDIES {
        for (good_enough, operators) in good_enough.iter_mut().zip([0.0, 3.0]) {
            let taken_for_the_benchs = study(operators);
            assert_ne!(judge(&taken_for_the_benchs, 1).verdict, Some(Verdict::Pass));
            let stated = Some(0.05f64.powi(2));
            let judged = Series { stated, ..taken_for_the_benchs };
            let judged = judge(&judged, 1);
            let anew = judged.parts.expect("analysed").anew.expect("it is");
            assert!((anew.deviation - 1.0).abs() < 0.4, "{judged:?}");
            *good_enough += usize::from(judged.verdict == Some(Verdict::Pass));
        }
    }
    // Three standard deviations below 95 %.
    assert!(good_enough[0] as f64 / STUDIES as f64 > 0.904, "{good_enough:?}");
    assert_eq!(good_enough[1], 0);
}

#[test]
fn the_share_decides() {
    let one = |spread: f64| {
        let levels: Vec<Vec<f64>> = (0..5)
            .map(|m| (0..12).map(|i| f64::from(m) + spread * f64::from(i % 3 - 1)).collect())
            .collect();
        let counts = Counts { modules: 5, operators: 1, passes: 12 };
        Analysis::Modules(anova::one_way(&levels).expect("balanced"), counts)
    };
    let verdict = |spread, limits| judge(&series(one(spread), limits, 2.0), 1).verdict;
    let two = Window::between(-8.0, 12.0);
    assert_eq!(verdict(0.1, two), Some(Verdict::Pass));
    assert_eq!(verdict(1.2, two), Some(Verdict::Indeterminate));
    assert_eq!(verdict(3.0, two), Some(Verdict::Fail));
    assert_eq!(verdict(0.1, Window::at_most(4.0)), Some(Verdict::Pass));
    assert_eq!(verdict(3.0, Window::at_most(4.0)), Some(Verdict::Fail));
    assert_eq!(verdict(3.0, Window::OPEN), None);
    // On the limit nothing is left for the bench, unless it does not scatter at all.
    assert_eq!(verdict(0.1, Window::at_most(2.0)), Some(Verdict::Fail));
    assert_eq!(verdict(0.0, Window::at_most(2.0)), Some(Verdict::Pass));
}
