use study::anova::{AnovaError, OneWay, one_way};

use crate::{close, digits_alike, number, rows};

const CERTIFIED: &str = include_str!("../../reference-cases/strd/certified.csv");

/// Decimal text as a whole number of units in the last of `places` decimals, without passing through a double.
fn scaled(text: &str, places: usize) -> i128 {
    let (whole, decimals) = text.split_once('.').unwrap_or((text, ""));
    assert!(decimals.len() <= places, "{text} has more than {places} decimals");
    format!("{whole}{decimals:0<places$}").parse().unwrap()
}

fn groups(table: &str, places: usize) -> Vec<Vec<i128>> {
    let mut groups: Vec<Vec<i128>> = Vec::new();
    for row in rows(table) {
        let group: usize = row[0].parse().unwrap();
        groups.resize_with(groups.len().max(group), Vec::new);
        groups[group - 1].push(scaled(row[1], places));
    }
    groups
}

/// The SmLs sets: nine groups about an offset plus 1.4, 1.3, 1.5, 1.3 … (the offset sets leave the 1 out), the first
/// reading at the group's own value and the others a tenth below and above it by turns.
fn smls(offset: i128, readings: usize) -> Vec<Vec<i128>> {
    let base = if offset == 0 { 10 } else { offset * 10 };
    let turn = |i: usize| [0, -1, 1][if i == 0 { 0 } else { 1 + (i + 1) % 2 }];
    [4, 3, 5, 3, 5, 3, 5, 3, 5].map(|tenth| (0..readings).map(|i| base + tenth + turn(i)).collect()).to_vec()
}

/// Source: NIST StRD, SmLs01, SmLs04, SmLs07: the data as published.
#[test]
fn the_pattern_of_the_smls_sets_is_the_published_one() {
    for (table, offset) in [
        (include_str!("../../reference-cases/strd/SmLs01.csv"), 0),
        (include_str!("../../reference-cases/strd/SmLs04.csv"), 1_000_000),
        (include_str!("../../reference-cases/strd/SmLs07.csv"), 1_000_000_000_000),
    ] {
        assert_eq!(groups(table, 1), smls(offset, 21));
    }
}

/// Source: NIST StRD one-way analysis of variance, all eleven sets, nine certified values each.
/// Tolerance: 14 digits of the 15 that are certified; the last one is the certificate's own rounding (SmLs R² is
/// printed 0.482758620689655, exactly 14/29). SmLs07 to 09 carry an offset of 1e12.
#[test]
fn strd_analysis_of_variance_comes_out_to_full_digits() {
    let mut compared = 0;
    for row in rows(CERTIFIED) {
        let (data, places) = match row[0] {
            "AtmWtAg" => (groups(include_str!("../../reference-cases/strd/AtmWtAg.csv"), 7), 7),
            "SiRstv" => (groups(include_str!("../../reference-cases/strd/SiRstv.csv"), 4), 4),
            name => {
                let set: u32 = name.strip_prefix("SmLs").unwrap().parse().unwrap();
                let readings = [21, 201, 2001][(set as usize - 1) % 3];
                (smls([0, 1_000_000, 1_000_000_000_000][(set as usize - 1) / 3], readings), 1)
            }
        };
        let found = one_way(&data, places).unwrap();
        assert_eq!(data.iter().map(Vec::len).sum::<usize>(), row[2].parse::<usize>().unwrap());
        for (what, found, certified) in [
            ("df between", found.df_between as f64, row[3]),
            ("ss between", found.ss_between, row[4]),
            ("ms between", found.ms_between, row[5]),
            ("F", found.f, row[6]),
            ("df within", found.df_within as f64, row[7]),
            ("ss within", found.ss_within, row[8]),
            ("ms within", found.ms_within, row[9]),
            ("R2", found.r_squared, row[10]),
            ("residual sd", found.residual_sd, row[11]),
        ] {
            let alike = digits_alike(found, number(certified));
            assert!(alike >= 14.0, "{} {what}: {found} against {certified}, {alike:.1} digits", row[0]);
            compared += 1;
        }
    }
    assert_eq!(compared, 11 * 9);
}

/// The same set as lengths of the shop: 1e12 mm and some tenths, in whole nanometres.
/// Source: NIST StRD, SmLs07.
#[test]
fn readings_held_as_lengths_lose_nothing_either() {
    let lengths: Vec<Vec<i128>> = smls(1_000_000_000_000, 21)
        .iter()
        .map(|group| group.iter().map(|tenths| units::Length::from_nm(*tenths as i64 * 100_000)).collect::<Vec<_>>())
        .map(|group| group.iter().map(|length| i128::from(length.nm())).collect())
        .collect();
    let found = one_way(&lengths, 6).unwrap();
    assert!(digits_alike(found.f, 21.0) >= 14.0);
    assert!(digits_alike(found.ss_within, 1.8) >= 14.0);
}

fn random_effects(set: &str, places: usize) -> OneWay {
    let mut groups: Vec<Vec<i128>> = Vec::new();
    for row in rows(include_str!("../../reference-cases/random-effects/readings.csv")) {
        if row[0] == set {
            let group: usize = row[1].parse().unwrap();
            groups.resize_with(groups.len().max(group), Vec::new);
            groups[group - 1].push(scaled(row[3], places));
        }
    }
    assert_eq!(groups.iter().map(Vec::len).sum::<usize>(), 15);
    one_way(&groups, places as u32).unwrap()
}

/// Source: NIST/SEMATECH e-Handbook 7.4.4: SS between 147.74, within 17.99 (printed from rounded means; by hand from
/// the data 147.7333 and 18). Components 11.711111 and 1.8, ICC 0.866776 (0.5449 to 0.9836): independent computation.
/// Tolerance: half the last printed digit, and the page's own rounding of 0.01 on its sums.
#[test]
fn components_of_the_nist_batches() {
    let found = random_effects("A", 0);
    close(found.ss_between, 147.74, 0.01);
    close(found.ss_within, 17.99, 0.011);
    close(found.ss_between, 443.2 / 3.0, 1e-12);
    close(found.f, 20.518_519, 5e-7);
    let parts = found.components();
    close(parts.between, 11.711_111, 5e-7);
    close(parts.within, 1.8, 1e-12);
    close(parts.total(), 13.511_111, 5e-7);
    close(parts.icc(), 0.866_776, 5e-7);
    let (low, high) = found.icc_limits(0.95).unwrap();
    close(low, 0.5449, 5e-5);
    close(high, 0.9836, 5e-5);
}

/// Source: USP general chapter <1010>, precision example. Its F 34.80 comes from mean squares rounded first.
/// Tolerance: half the last printed digit.
#[test]
fn components_of_the_usp_runs() {
    let found = random_effects("B", 2);
    close(found.ss_between, 14.200, 5e-4);
    close(found.ss_within, 1.018, 5e-4);
    close(found.ms_between, 3.550, 5e-4);
    close(found.ms_within, 0.102, 5e-4);
    close(found.f, 34.886, 5e-4);
    let parts = found.components();
    for (runs, repeats, printed) in
        [(1, 1, 1.251), (1, 2, 1.200), (1, 3, 1.183), (2, 1, 0.625), (2, 2, 0.600), (2, 3, 0.592)]
    {
        // The page rounds its components to three digits before it divides, hence one unit rather than half of one.
        close(parts.variance_of_mean(runs, repeats), printed, 1e-3);
    }
}

/// Source: F(2, 6) = 5.143 cuts off 5 in 100 (any F table).
#[test]
fn the_chance_of_an_f_is_that_of_the_tables() {
    let mut found = one_way(&[[1, 2, 3], [2, 3, 4], [5, 6, 7]], 0).unwrap();
    // By hand: means 2, 3, 6 about 11/3, so 3 · (25 + 4 + 49)/9 = 26; within 3 · 2 = 6.
    close(found.ss_between, 26.0, 1e-13);
    close(found.ss_within, 6.0, 1e-13);
    close(found.f, 13.0, 1e-13);
    found.f = 5.143;
    close(found.p_value().unwrap(), 0.05, 5e-5);
}

#[test]
fn unequal_groups_agree_with_the_sums_done_by_hand() {
    // Means 2, 5, 9 of 2, 3 and 1 readings; grand mean 28/6; between 2(8/3)² + 3(1/3)² + (13/3)² = 100/3.
    let found = one_way(&[vec![1, 3], vec![4, 5, 6], vec![9]], 0).unwrap();
    close(found.ss_between, 100.0 / 3.0, 1e-13);
    close(found.ss_within, 4.0, 1e-13);
    // (6 - 14/6)/2
    close(found.group_size, 11.0 / 6.0, 1e-13);
}

#[test]
fn nothing_alike_and_too_far_apart_are_said() {
    let none: [Vec<i128>; 0] = [];
    assert_eq!(one_way(&none, 0), Err(AnovaError::TooFewGroups { found: 0 }));
    assert_eq!(one_way(&[vec![1], vec![]], 0), Err(AnovaError::EmptyGroup { group: 2 }));
    assert_eq!(one_way(&[vec![1], vec![2]], 0), Err(AnovaError::NoRepeats));
    assert_eq!(one_way(&[vec![i128::MIN, 0], vec![i128::MAX, 1]], 0), Err(AnovaError::TooWide));
    let alike = one_way(&[[5, 5], [5, 5]], 0).unwrap();
    assert!(alike.f.is_nan() && alike.p_value().is_none() && alike.icc_limits(0.95).is_none());
    let exact = one_way(&[[5, 5], [6, 6]], 0).unwrap();
    assert_eq!((exact.f, exact.p_value()), (f64::INFINITY, Some(0.0)));
    assert_eq!(exact.icc_limits(0.95), Some((1.0, 1.0)));
    // So many places that the unit has no double: zero, not a panic.
    assert!(one_way(&[[1, 2], [3, 4]], u32::MAX).is_ok());
}
