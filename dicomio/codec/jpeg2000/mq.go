package jpeg2000

import "math/bits"

// mqRow is a row of Table C.2: the probability Qe of the less probable symbol,
// the next rows, and whether the symbols change places.
type mqRow struct {
	qe       uint16
	nextMPS  uint8
	nextLPS  uint8
	exchange uint8
}

var mqRows = [47]mqRow{
	{0x5601, 1, 1, 1}, {0x3401, 2, 6, 0}, {0x1801, 3, 9, 0}, {0x0AC1, 4, 12, 0},
	{0x0521, 5, 29, 0}, {0x0221, 38, 33, 0}, {0x5601, 7, 6, 1}, {0x5401, 8, 14, 0},
	{0x4801, 9, 14, 0}, {0x3801, 10, 14, 0}, {0x3001, 11, 17, 0}, {0x2401, 12, 18, 0},
	{0x1C01, 13, 20, 0}, {0x1601, 29, 21, 0}, {0x5601, 15, 14, 1}, {0x5401, 16, 14, 0},
	{0x5101, 17, 15, 0}, {0x4801, 18, 16, 0}, {0x3801, 19, 17, 0}, {0x3401, 20, 18, 0},
	{0x3001, 21, 19, 0}, {0x2801, 22, 19, 0}, {0x2401, 23, 20, 0}, {0x2201, 24, 21, 0},
	{0x1C01, 25, 22, 0}, {0x1801, 26, 23, 0}, {0x1601, 27, 24, 0}, {0x1401, 28, 25, 0},
	{0x1201, 29, 26, 0}, {0x1101, 30, 27, 0}, {0x0AC1, 31, 28, 0}, {0x09C1, 32, 29, 0},
	{0x08A1, 33, 30, 0}, {0x0521, 34, 31, 0}, {0x0441, 35, 32, 0}, {0x02A1, 36, 33, 0},
	{0x0221, 37, 34, 0}, {0x0141, 38, 35, 0}, {0x0111, 39, 36, 0}, {0x0085, 40, 37, 0},
	{0x0049, 41, 38, 0}, {0x0025, 42, 39, 0}, {0x0015, 43, 40, 0}, {0x0009, 44, 41, 0},
	{0x0005, 45, 42, 0}, {0x0001, 45, 43, 0}, {0x5601, 46, 46, 0},
}

// mqContext is the state of one context: the probability of the less probable symbol
// in the upper half, and in the lower one where mqNext has the states that follow,
// whose lowest bit is the more probable symbol.
type mqContext uint32

// mqNext holds, for each row with either symbol, the states after the more and
// after the less probable symbol.
var mqNext = makeTransitions()

// mqState is the state of a row with a more probable symbol.
func mqState(row int, mps uint32) mqContext {
	return mqContext(uint32(mqRows[row].qe)<<16 | 2*uint32(row) | mps)
}

func makeTransitions() (next [128][2]mqContext) {
	for i, row := range mqRows {
		for mps := range uint32(2) {
			next[2*i+int(mps)] = [2]mqContext{
				mqState(int(row.nextMPS), mps),
				mqState(int(row.nextLPS), mps^uint32(row.exchange)),
			}
		}
	}
	return next
}

// mqDecoder is the arithmetic decoder (Annex C.3). a and c are the standard's
// registers as they stood when room was set to slack. Each symbol takes Qe off both
// as long as the more probable symbol comes without renormalization; so it is
// enough to count down the room left for that, and to settle a and c when it is
// used up.
type mqDecoder struct {
	src      []byte
	pos      int
	a, c     uint32
	ct       uint
	room     int32 // min(Chigh, a - 0x8000), less the Qe used since
	slack    int32
	contexts [256]mqContext // 19 are in use
}

// Contexts (Table D.1 to D.5): 0 to 8 zero coding, 9 to 13 sign, 14 to 16
// magnitude refinement.
const (
	contextSign      = 9
	contextRefine    = 14
	contextRunLength = 17
	contextUniform   = 18
)

// resetContexts sets the initial states of Table D.7.
func (m *mqDecoder) resetContexts() {
	for i := range m.contexts[:contextUniform] {
		m.contexts[i] = mqState(0, 0)
	}
	m.contexts[0] = mqState(4, 0)
	m.contexts[contextRunLength] = mqState(3, 0)
	m.contexts[contextUniform] = mqState(46, 0)
}

// start begins a segment (C.3.5, INITDEC).
func (m *mqDecoder) start(src []byte) {
	m.src, m.pos = src, 0
	m.c = m.at(0) << 16
	m.byteIn()
	m.c <<= 7
	m.ct -= 7
	m.a = 0x8000
	m.settle()
}

// at is a byte of the segment, FF after its end.
func (m *mqDecoder) at(i int) uint32 {
	if i < len(m.src) {
		return uint32(m.src[i])
	}
	return 0xFF
}

// byteIn takes the next byte, with a stuffed bit after FF; at a marker or the end
// it feeds ones (C.3.4).
func (m *mqDecoder) byteIn() {
	if m.at(m.pos) == 0xFF {
		next := m.at(m.pos + 1)
		if next > 0x8F {
			m.c += 0xFF00
			m.ct = 8
			return
		}
		m.pos++
		m.c += next << 9
		m.ct = 7
		return
	}
	m.pos++
	m.c += m.at(m.pos) << 8
	m.ct = 8
}

func (m *mqDecoder) settle() {
	m.slack = min(int32(m.c>>16), int32(m.a)-0x8000)
	m.room = m.slack
}

// bit decodes one symbol (C.3.2, DECODE).
func (m *mqDecoder) bit(cx *mqContext) uint32 {
	if m.room -= int32(*cx >> 16); m.room >= 0 {
		return uint32(*cx) & 1
	}
	return m.exchange(cx)
}

// exchange decodes a symbol that may be the less probable one, and renormalizes.
// Which of the two it is cannot be foreseen, so it is worked out without branches.
func (m *mqDecoder) exchange(cx *mqContext) uint32 {
	qe := uint32(*cx >> 16)
	taken := uint32(m.slack - m.room) // with this symbol's
	a, c := m.a-taken, m.c-(taken-qe)<<16

	lower := (c>>16 - qe) >> 31    // 1 if Chigh < Qe
	less := (a-qe)>>31 ^ lower     // conditional exchange
	a ^= (a ^ qe) & -lower         // Qe, if in the lower part
	c -= qe << 16 & (lower - 1)    // in the upper part
	symbol := uint32(*cx)&1 ^ less // the more probable one, if not less
	*cx = mqNext[*cx&127][less&1]

	shift := uint(bits.LeadingZeros16(uint16(a))) // renormalize (C.3.3)
	m.a = a << shift
	for shift > m.ct {
		c <<= m.ct
		shift -= m.ct
		m.c = c
		m.byteIn()
		c = m.c
	}
	m.c = c << shift
	m.ct -= shift
	m.settle()
	return symbol
}
