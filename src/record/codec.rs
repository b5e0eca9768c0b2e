//! Columns of whole numbers that change smoothly, in few bits and without loss.
//!
//! A chunk of a column is coded as FLAC codes a channel of sound: the best of five fixed polynomial predictors from the
//! values before it, then what is left in a Rice code with the best parameter (RFC 9639, sections 9.2.5 and 9.2.7).
//! A hand in steady motion leaves nothing and costs nine bits for the chunk; a hand at rest costs one.
//!
//! Decoding takes any bits: a chunk has at most [`CHUNK_LEN`] values, so no input unfolds to more than a fixed multiple
//! of its own size.

/// The most values in one chunk.
pub(super) const CHUNK_LEN: usize = 64;

/// Predictors of order 0 to 4: what a polynomial through the last values, newest first, says comes next.
const PREDICTORS: [[i64; 4]; 5] = [[0, 0, 0, 0], [1, 0, 0, 0], [2, -1, 0, 0], [3, -3, 1, 0], [4, -6, 4, -1]];

/// The predictor that says a column stays as it is.
const REST_ORDER: usize = 1;

const ORDER_BITS: u32 = 3;
const PARAMETER_BITS: u32 = 5;

/// Stands for a chunk in which every prediction is right.
const PARAMETER_EXACT: u32 = 31;

/// A quotient this large is not written in ones: that many ones say that the whole residual follows.
const QUOTIENT_ESCAPE: u32 = 24;

/// Bits of a whole residual: at most 16 * 2^31 in size by the predictors above, and one bit for its sign.
const RESIDUAL_BITS: u32 = 37;

/// The last values of a column, newest first; a column begins at rest at zero.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct History([i64; 4]);

impl History {
    fn prediction(self, order: usize) -> i64 {
        PREDICTORS[order].iter().zip(self.0).map(|(coefficient, value)| coefficient * value).sum()
    }

    fn push(&mut self, value: i32) {
        self.0 = [i64::from(value), self.0[0], self.0[1], self.0[2]];
    }
}

/// Appends the next values of a column.
///
/// # Panics
/// If there are more than [`CHUNK_LEN`] values.
pub(super) fn encode_chunk(bits: &mut BitWriter, values: &[i32], history: &mut History) {
    assert!(values.len() <= CHUNK_LEN, "a chunk holds at most {CHUNK_LEN} values, not {}", values.len());
    // Of predictors that cost the same the first is taken, and a column at rest is to be told by one bit.
    let orders = std::iter::once(REST_ORDER).chain((0..PREDICTORS.len()).filter(|&order| order != REST_ORDER));
    let candidates = orders.map(|order| (order, residuals(values, *history, order)));
    let (order, parameter, residuals) = candidates
        .map(|(order, residuals)| (order, best_parameter(&residuals), residuals))
        .min_by_key(|(_, parameter, residuals)| cost_bits(residuals, *parameter))
        .expect("there is more than one predictor");
    let rests = order == REST_ORDER && parameter == PARAMETER_EXACT;
    bits.push(u64::from(!rests), 1);
    if !rests {
        bits.push(order as u64, ORDER_BITS);
        bits.push(u64::from(parameter), PARAMETER_BITS);
    }
    if parameter != PARAMETER_EXACT {
        residuals.iter().for_each(|&residual| encode_residual(bits, residual, parameter));
    }
    values.iter().for_each(|&value| history.push(value));
}

/// Reads the next `count` values of a column; `None` if the bits end early or are none that [`encode_chunk`] writes.
///
/// # Panics
/// If `count` is more than [`CHUNK_LEN`].
pub(super) fn decode_chunk(bits: &mut BitReader, count: usize, history: &mut History) -> Option<Vec<i32>> {
    assert!(count <= CHUNK_LEN, "a chunk holds at most {CHUNK_LEN} values, not {count}");
    let (order, parameter) = if bits.take(1)? == 0 {
        (REST_ORDER, PARAMETER_EXACT)
    } else {
        let order = usize::try_from(bits.take(ORDER_BITS)?).ok().filter(|&order| order < PREDICTORS.len())?;
        (order, u32::try_from(bits.take(PARAMETER_BITS)?).ok()?)
    };
    let mut values = Vec::with_capacity(count);
    for _ in 0..count {
        let residual = if parameter == PARAMETER_EXACT { 0 } else { decode_residual(bits, parameter)? };
        let value = i32::try_from(history.prediction(order) + unfold_sign(residual)).ok()?;
        history.push(value);
        values.push(value);
    }
    Some(values)
}

/// What the predictor of this order misses, sign folded in.
fn residuals(values: &[i32], mut history: History, order: usize) -> Vec<u64> {
    let residual = |&value: &i32| {
        let missed = i64::from(value) - history.prediction(order);
        history.push(value);
        fold_sign(missed)
    };
    values.iter().map(residual).collect()
}

fn best_parameter(residuals: &[u64]) -> u32 {
    if residuals.iter().all(|&residual| residual == 0) {
        return PARAMETER_EXACT;
    }
    (0..PARAMETER_EXACT).min_by_key(|&parameter| cost_bits(residuals, parameter)).expect("the range is not empty")
}

fn cost_bits(residuals: &[u64], parameter: u32) -> u64 {
    let cost = |&residual: &u64| match residual >> parameter {
        quotient if quotient < u64::from(QUOTIENT_ESCAPE) => quotient + 1 + u64::from(parameter),
        _ => u64::from(QUOTIENT_ESCAPE + RESIDUAL_BITS),
    };
    if parameter == PARAMETER_EXACT { 0 } else { residuals.iter().map(cost).sum() }
}

fn encode_residual(bits: &mut BitWriter, residual: u64, parameter: u32) {
    match u32::try_from(residual >> parameter) {
        Ok(quotient) if quotient < QUOTIENT_ESCAPE => {
            bits.push((1 << quotient) - 1, quotient);
            bits.push(0, 1);
            bits.push(residual & ((1 << parameter) - 1), parameter);
        }
        _ => {
            bits.push((1 << QUOTIENT_ESCAPE) - 1, QUOTIENT_ESCAPE);
            bits.push(residual, RESIDUAL_BITS);
        }
    }
}

fn decode_residual(bits: &mut BitReader, parameter: u32) -> Option<u64> {
    let mut quotient = 0;
    while quotient < QUOTIENT_ESCAPE && bits.take(1)? == 1 {
        quotient += 1;
    }
    if quotient == QUOTIENT_ESCAPE {
        return bits.take(RESIDUAL_BITS);
    }
    Some(u64::from(quotient) << parameter | bits.take(parameter)?)
}

/// 0, -1, 1, -2, 2 ... to 0, 1, 2, 3, 4 ...
fn fold_sign(value: i64) -> u64 {
    ((value << 1) ^ (value >> 63)).cast_unsigned()
}

fn unfold_sign(folded: u64) -> i64 {
    (folded >> 1).cast_signed() ^ -(folded & 1).cast_signed()
}

/// Bits appended one after another, the lowest first.
#[derive(Debug, Default)]
pub(super) struct BitWriter {
    bytes: Vec<u8>,
    bit_count: usize,
}

impl BitWriter {
    fn push(&mut self, value: u64, count: u32) {
        for place in 0..count {
            if self.bit_count.is_multiple_of(8) {
                self.bytes.push(0);
            }
            let last = self.bytes.last_mut().expect("a byte was pushed for this bit or one before it");
            *last |= u8::from(value >> place & 1 == 1) << (self.bit_count % 8);
            self.bit_count += 1;
        }
    }

    /// The bits written, padded with zeros to a whole byte.
    pub(super) fn into_bytes(self) -> Vec<u8> {
        self.bytes
    }
}

/// Bits taken one after another, the lowest first.
#[derive(Debug)]
pub(super) struct BitReader<'a> {
    bytes: &'a [u8],
    bit_count: usize,
}

impl<'a> BitReader<'a> {
    pub(super) fn new(bytes: &'a [u8]) -> BitReader<'a> {
        BitReader { bytes, bit_count: 0 }
    }

    fn take(&mut self, count: u32) -> Option<u64> {
        let mut value = 0;
        for place in 0..count {
            let byte = self.bytes.get(self.bit_count / 8)?;
            value |= u64::from(byte >> (self.bit_count % 8) & 1) << place;
            self.bit_count += 1;
        }
        Some(value)
    }

    /// Whether nothing is left but padding.
    pub(super) fn is_spent(&self) -> bool {
        self.bit_count.div_ceil(8) == self.bytes.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Codes a column in chunks and checks that it comes back.
    fn check(chunks: &[&[i32]]) {
        let (mut history, mut history_read) = Default::default();
        for &values in chunks {
            let mut bits = BitWriter::default();
            encode_chunk(&mut bits, values, &mut history);
            let bytes = bits.into_bytes();
            let mut reader = BitReader::new(&bytes);
            assert_eq!(decode_chunk(&mut reader, values.len(), &mut history_read).as_deref(), Some(values));
            assert!(reader.is_spent());
        }
    }

    #[test]
    fn every_column_comes_back_as_it_was() {
        let jumps = [i32::MAX, i32::MIN, i32::MAX, i32::MIN];
        let cases: [&[i32]; 6] =
            [&[], &[7; 64], &jumps, &[0, 3, 6, 9, 12, 15], &[30_000, 30_001, 30_003, -5, 0, 1 << 30], &[-1, 1, -1, 1]];
        for values in cases {
            check(&[values]);
            check(&[&jumps, values, values]);
        }
        // The largest residual there is: the predictor of order 4, best for all but the first values, meets a jump.
        let mut cubic: Vec<i32> = (0..64).map(|n: i32| 50 * n * n * n).collect();
        cubic[0] = i32::MAX;
        check(&[&jumps, &cubic]);
    }

    #[test]
    fn rest_costs_one_bit_a_chunk_and_steady_motion_nine() {
        type Motion = fn(i32) -> i32;
        let motions: [(Motion, usize); 4] = [
            (|_| 9, 1),
            (|n| 9 + 250 * n, 9),
            (|n| 9 + 250 * n - 7 * n * n, 9),
            (|n| 9 + 250 * n - 7 * n * n + 2 * n * n * n, 9),
        ];
        for (motion, bits) in motions {
            // Eight columns, so that no bit hides in the rest of a byte.
            let (mut all, column) = (BitWriter::default(), (0..68).map(motion).collect::<Vec<i32>>());
            let history = History([3, 2, 1, 0].map(|n| i64::from(column[n])));
            for mut history in [history; 8] {
                encode_chunk(&mut all, &column[4..], &mut history);
            }
            assert_eq!(all.into_bytes().len(), bits);
            check(&[&column[..4], &column[4..]]);
        }
    }

    #[test]
    fn any_bits_decode_to_values_or_to_nothing() {
        // A linear congruence with the constants of Knuth's MMIX: only to have many different bytes.
        let mut state = 1u64;
        for _ in 0..20_000 {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let bytes: Vec<u8> = state.to_le_bytes().repeat(3);
            let mut history =
                History([i64::from(i32::MAX), i64::from(i32::MIN), i64::from(i32::MAX), i64::from(i32::MIN)]);
            let values = decode_chunk(&mut BitReader::new(&bytes), CHUNK_LEN, &mut history);
            assert!(values.is_none_or(|values| values.len() == CHUNK_LEN));
        }
    }
}
