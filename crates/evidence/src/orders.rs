//! In which order to ride A and B, so that ice that changes through the day does not pass for a difference.

/// Which of two set-ups a run is ridden with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arm {
    /// The first set-up.
    A,
    /// The second.
    B,
}

/// An order, and what drift does to the difference of means of B less A.
#[derive(Clone, Debug, PartialEq)]
pub struct Order {
    /// One arm for each run.
    pub arms: Vec<Arm>,
    /// Difference that a drift of one unit for each run feigns (units).
    pub linear_bias: f64,
    /// The same for a drift of one unit times the square of the number of the run (units).
    pub quadratic_bias: f64,
    /// Changes of set-up.
    pub changes: usize,
}

/// What a drift feigns, as a difference of means of B less A.
///
/// ```text
///   bias = mean over B of i^p - mean over A of i^p,   i = 0, 1, 2, ...
/// ```
///
/// *Valid for* orders with A and B in them. *Assumes* one drift for both set-ups.
/// *Source*: means, worked out here. *Checked by* `exact_bias_of_the_usual_orders`.
pub(crate) fn drift_bias(arms: &[Arm], power: i32) -> f64 {
    let mean = |arm: Arm| {
        let places: Vec<f64> =
            arms.iter().enumerate().filter(|a| *a.1 == arm).map(|a| (a.0 as f64).powi(power)).collect();
        places.iter().sum::<f64>() / places.len() as f64
    };
    mean(Arm::B) - mean(Arm::A)
}

impl Order {
    /// An order with what drift does to it.
    pub(crate) fn new(arms: Vec<Arm>) -> Order {
        let changes = arms.windows(2).filter(|w| w[0] != w[1]).count();
        let (linear_bias, quadratic_bias) = (drift_bias(&arms, 1), drift_bias(&arms, 2));
        Order { arms, linear_bias, quadratic_bias, changes }
    }

    /// An order from letters.
    pub fn of(letters: &str) -> Order {
        Order::new(letters.chars().map(|c| if c == 'B' { Arm::B } else { Arm::A }).collect())
    }

    /// Its letters.
    pub fn letters(&self) -> String {
        self.arms.iter().map(|a| if *a == Arm::A { 'A' } else { 'B' }).collect()
    }
}

/// Most runs for which every order is tried.
const MOST_TRIED: usize = 16;

/// The order of so many pairs that drift hurts least: first linear, then quadratic, then the fewest changes of
/// set-up; A first. Longer ones are put together from the order of eight runs.
pub fn safest_order(pairs: usize) -> Order {
    let runs = 2 * pairs;
    if runs > MOST_TRIED {
        let mut letters = "ABBABAAB".repeat(runs / 8);
        letters += match runs % 8 {
            2 => "AB",
            4 => "ABBA",
            6 => "ABBAAB",
            _ => "",
        };
        return Order::of(&letters);
    }
    let arms = |mask: u32| -> Vec<Arm> {
        (0..runs).map(|i| if mask >> (runs - 1 - i) & 1 == 1 { Arm::B } else { Arm::A }).collect()
    };
    let wanted = |mask: &u32| mask.count_ones() as usize == pairs;
    let key = |o: &Order| {
        // whole numbers, so that equal means equal: a bias times the number of pairs
        let whole = |bias: f64| (bias.abs() * pairs as f64).round() as u64;
        (whole(o.linear_bias), whole(o.quadratic_bias), o.changes)
    };
    let first_is_a = 1u32 << runs.saturating_sub(1);
    let all = (0..first_is_a).filter(wanted).map(|mask| Order::new(arms(mask)));
    all.min_by_key(key).unwrap_or_else(|| Order::of(""))
}

/// Orders that people use, cut to the same number of pairs, with the safest first.
pub fn orders_beside(pairs: usize) -> Vec<Order> {
    let block = format!("{}{}", "A".repeat(pairs), "B".repeat(pairs));
    let mut all = vec![safest_order(pairs)];
    for letters in ["AB".repeat(pairs), block] {
        let order = Order::of(&letters);
        if !all.contains(&order) {
            all.push(order);
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_bias_of_the_usual_orders() {
        // by hand: drift c i gives AB 1c, AABB 2c, ABAB 1c, ABBA 0
        for (letters, wanted) in [("AB", 1.0), ("AABB", 2.0), ("ABAB", 1.0), ("ABBA", 0.0)] {
            assert_eq!(Order::of(letters).linear_bias, wanted, "{letters}");
        }
        // by hand: (1 + 4)/2 - (0 + 9)/2; the order of eight takes both
        assert_eq!(Order::of("ABBA").quadratic_bias, -2.0);
        let eight = Order::of("ABBABAAB");
        assert_eq!((eight.linear_bias, eight.quadratic_bias), (0.0, 0.0));
    }

    #[test]
    fn exact_the_safest_order_of_four_and_eight_runs() {
        assert_eq!(safest_order(2).letters(), "ABBA");
        let eight = safest_order(4);
        assert_eq!((eight.linear_bias, eight.quadratic_bias), (0.0, 0.0));
        // six runs: places 0..5 add up to 15, so no order is free of linear drift; the least is 7 against 8
        let six = safest_order(3);
        approx::assert_abs_diff_eq!(six.linear_bias.abs(), 1.0 / 3.0, epsilon = 1e-15); // rounding
        assert_eq!(safest_order(12).arms.len(), 24);
        assert_eq!((safest_order(12).linear_bias, safest_order(12).quadratic_bias), (0.0, 0.0));
    }

    #[test]
    fn exact_both_arms_come_equally_often() {
        for pairs in 1..=20 {
            let order = safest_order(pairs);
            assert_eq!(order.arms.iter().filter(|a| **a == Arm::B).count(), pairs, "{pairs}");
        }
    }
}
