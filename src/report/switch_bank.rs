//! A bank of small switches, drawn so that one can set it by looking.

/// The bank as it lies in front of one, lines ended: for each switch a block where its slider goes,
/// above for on, below for off, and its number underneath. Bit 0 of `switches` is switch 1.
pub fn switch_bank(switches: u32, count: u8) -> String {
    let is_on = |n: u8| switches >> (n - 1) & 1 == 1;
    let cells = |cell: &dyn Fn(u8) -> String| -> String {
        (1..=count).map(|n| format!("{:>3}", cell(n))).collect()
    };
    let slider = |is_here: bool| if is_here { "■" } else { "·" }.to_owned();
    let edge = "─".repeat(3 * usize::from(count) + 2);
    [
        format!("             ┌{edge}┐"),
        format!("      on     │{}  │", cells(&|n| slider(is_on(n)))),
        format!("      off    │{}  │", cells(&|n| slider(!is_on(n)))),
        format!("             └{edge}┘"),
        format!("      switch  {}", cells(&|n| n.to_string())),
    ]
    .map(|line| line + "\n")
    .concat()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_slider_stands_above_its_number() {
        insta::assert_snapshot!(switch_bank(0b10_0000_0101, 10).replace('\n', "|\n"));
        for count in 1..=20 {
            let switches = 0b1010_0110_1100_0011_0101;
            let drawn = switch_bank(switches, count);
            let rows: Vec<Vec<char>> = drawn.lines().map(|l| l.chars().collect()).collect();
            for n in 1..=count {
                // Under a number's last digit stands, three lines above it, the slider when on.
                let column = 13 + 3 * usize::from(n);
                let last = n.to_string().pop();
                assert_eq!(Some(rows[4][column]), last, "{drawn}");
                let (on, off) = (rows[1][column], rows[2][column]);
                let want = if switches >> (n - 1) & 1 == 1 { ('■', '·') } else { ('·', '■') };
                assert_eq!((on, off), want, "{drawn}");
            }
            assert!(rows.iter().all(|row| row.len() <= 80));
        }
    }
}
