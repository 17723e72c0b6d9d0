use super::*;

/// The levels of a file of NIST's Statistical Reference Datasets.
fn levels(file: &str) -> Vec<Vec<f64>> {
    let mut levels: Vec<Vec<f64>> = Vec::new();
    for line in file.lines().skip(60) {
        let mut words = line.split_whitespace();
        let (Some(level), Some(value)) = (words.next(), words.next()) else { continue };
        let level: usize = level.parse().expect("a level");
        levels.resize(levels.len().max(level), Vec::new());
        levels[level - 1].push(value.parse().expect("a value"));
    }
    levels
}

/// Right digits against the certified value.
fn digits(found: f64, certified: f64) -> f64 {
    -((found - certified) / certified).abs().max(1e-16).log10()
}

/// NIST Statistical Reference Datasets, analysis of variance: SiRstv (resistivity of silicon,
/// lower difficulty) and AtmWtAg (atomic weight of silver, average difficulty: seven leading digits
/// are the same). The files as SciPy 1.15.3 ships them, certified values in their head.
#[test]
fn nist_certified_data() {
    let silicon = include_str!("../../../tests/reference/nist-anova/SiRstv.dat");
    let silver = include_str!("../../../tests/reference/nist-anova/AtmWtAg.dat");
    for (file, counts, between, within, f, right) in [
        (silicon, (5, 5), 5.114_626_16e-2, 2.166_365_6e-1, 1.180_462_374_402_55, 12.0),
        (silver, (2, 24), 3.638_341_875e-9, 1.049_517_291_666_67e-8, 15.946_733_567_793_0, 8.0),
    ] {
        let levels = levels(file);
        assert_eq!((levels.len(), levels[0].len()), counts);
        let found = one_way(&levels).expect("balanced");
        let (found_f, _) = found.between.against(&found.within).expect("it varies");
        for (found, certified) in
            [(found.between.sum, between), (found.within.sum, within), (found_f, f)]
        {
            assert!(digits(found, certified) > right, "{found} for {certified}");
        }
        assert_eq!(found.within.dof, (counts.0 * (counts.1 - 1)) as f64);
    }
}

/// NIST Statistical Reference Datasets, SmLs01 (lower difficulty) and, with 1,000,000 added, SmLs04
/// (average difficulty, seven leading digits in common): nine levels of 21 values, one in the
/// level's middle, then 0.1 below and above it in turn; the middles are 1.4, then 1.3 and 1.5 in
/// turn. Certified: sums of squares 1.68 and 1.80, F = 21.
#[test]
fn common_leading_digits_cost_little() {
    let in_turn = |middle: f64| {
        move |i: usize| match i {
            0 => middle,
            i if i % 2 == 1 => middle - 0.1,
            _ => middle + 0.1,
        }
    };
    // The values themselves are only right to half of their last binary digit.
    for (offset, right) in [(0.0, 13.0), (1e6, 8.0)] {
        let level = |i| (0..21).map(in_turn(offset + in_turn(0.4)(i) + 1.0)).collect();
        let levels: Vec<Vec<f64>> = (0..9).map(level).collect();
        let found = one_way(&levels).expect("balanced");
        let (f, _) = found.between.against(&found.within).expect("it varies");
        for (found, certified) in [(found.between.sum, 1.68), (found.within.sum, 1.80), (f, 21.0)] {
            assert!(digits(found, certified) > right, "{found} for {certified}");
        }
    }
}

/// NIST Statistical Reference Datasets, SiRstv and AtmWtAg: names of operators that nothing hangs on are
/// put to the replicates in turn. What is left within the modules when all of that is pooled is the
/// certified line, whoever the operators are said to be.
#[test]
fn operators_who_do_nothing_leave_the_certified_line() {
    let silver = include_str!("../../../tests/reference/nist-anova/AtmWtAg.dat");
    let levels = levels(silver);
    for operators in [2, 3, 4, 6] {
        let cell = |level: &Vec<f64>, o: usize| {
            level.iter().skip(o).step_by(operators).copied().collect::<Vec<f64>>()
        };
        let cells: Vec<Vec<Vec<f64>>> =
            levels.iter().map(|level| (0..operators).map(|o| cell(level, o)).collect()).collect();
        let table = two_way(&cells).expect("balanced");
        let all = table.within.pooled(&table.interaction).pooled(&table.second);
        assert!(digits(all.sum, 1.049_517_291_666_67e-8) > 7.0, "{all:?}");
        assert_eq!(all.dof, 46.0);
        let pooled = table.pooled(0.05);
        if pooled.second.is_none() {
            assert_eq!(pooled.error, all);
        }
    }
}

/// An interaction of chance 0.70 (statsmodels, below) is pooled, operators of chance 0.0002 are not.
#[test]
fn what_is_significant_stays() {
    let table = two_way(&small_study()).expect("balanced");
    let pooled = table.pooled(0.05);
    assert_eq!(pooled.error, table.within.pooled(&table.interaction));
    assert_eq!((pooled.interaction, pooled.second), (None, Some(table.second)));
}

/// Four modules, three operators, two passes; invented values.
pub fn small_study() -> Vec<Vec<Vec<f64>>> {
    [
        [[4.02, 4.05], [4.10, 4.08], [3.98, 4.01]],
        [[4.51, 4.48], [4.57, 4.60], [4.47, 4.49]],
        [[3.77, 3.80], [3.91, 3.86], [3.79, 3.75]],
        [[4.25, 4.22], [4.28, 4.31], [4.20, 4.26]],
    ]
    .map(|row| row.map(|cell| cell.to_vec()).to_vec())
    .to_vec()
}

/// statsmodels 0.15.0 (SciPy 1.17.1): `anova_lm(ols("y ~ C(part) * C(op)"), typ=2)`; invented
/// values. The F of parts and operators against the interaction, as random effects have it:
/// `scipy.stats.f.sf`.
#[test]
fn two_ways_against_statsmodels() {
    let cells = small_study();
    let found = two_way(&cells).expect("balanced");
    for (line, dof, sum) in [
        (found.first, 3.0, 1.637_066_666_666_66),
        (found.second, 2.0, 0.040_508_333_333_329),
        (found.interaction, 6.0, 0.002_358_333_333_333_7),
        (found.within, 12.0, 0.007_4),
    ] {
        assert_eq!(line.dof, dof);
        assert!(digits(line.sum, sum) > 10.0, "{} for {sum}", line.sum);
    }
    for (line, against, p) in [
        (found.second, found.interaction, 1.665_161_752_153_345_8e-4),
        (found.first, found.interaction, 6.508_105_167_274_231e-9),
        (found.interaction, found.within, 0.699_164_950_884_448),
    ] {
        let (_, chance) = line.against(&against).expect("it varies");
        assert!((chance - p).abs() < 1e-7 * p.max(1e-3), "{chance} for {p}");
    }
}

#[test]
fn what_is_not_balanced_is_refused() {
    assert_eq!(one_way(&[vec![1.0, 2.0]]), None);
    assert_eq!(one_way(&[vec![1.0, 2.0], vec![1.0]]), None);
    assert_eq!(one_way(&[vec![1.0], vec![1.0]]), None);
    assert_eq!(one_way(&[]), None);
    let cell = || vec![1.0, 2.0];
    assert_eq!(two_way(&[vec![cell(), cell()], vec![cell()]]), None);
    assert_eq!(two_way(&[vec![cell()], vec![cell()]]), None);
    assert_eq!(two_way(&[vec![cell(), cell()], vec![cell(), vec![1.0]]]), None);
    let still = one_way(&[vec![1.0, 1.0], vec![2.0, 2.0]]).expect("balanced");
    assert_eq!(still.between.against(&still.within), None);
}
