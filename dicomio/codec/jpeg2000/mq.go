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
// registers as they stood when room was set to slack, with Chigh in the highest 16
// bits of c and ct bits to come below. Each symbol takes Qe off both as long as the
// more probable symbol comes without renormalization; so it is enough to count down
// the room left for that, and to settle a and c when it is used up.
type mqDecoder struct {
	src      []byte
	pos      int // of the byte last taken
	a        uint32
	c        uint64
	ct       int
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

const (
	highBits = 16 // of c: Chigh
	lowBits  = 64 - highBits
	maxShift = 16 // of one renormalization, and one to spare
)

// start begins a segment (C.3.5, INITDEC).
func (m *mqDecoder) start(src []byte) {
	m.src, m.pos = src, 0
	m.c, m.ct = m.refill(m.at(0)<<lowBits, 0)
	m.c <<= 7
	m.ct -= 7
	m.a = 0x8000
	m.settle()
}

// at is a byte of the segment, FF after its end.
func (m *mqDecoder) at(i int) uint64 {
	if i < len(m.src) {
		return uint64(m.src[i])
	}
	return 0xFF
}

// refill takes bytes as long as there is room for them, with a stuffed bit after FF,
// to which a carry may have been added; at a marker or the end it feeds ones (C.3.4).
func (m *mqDecoder) refill(c uint64, ct int) (uint64, int) {
	last := m.at(m.pos)
	for ct <= lowBits-8 {
		next := m.at(m.pos + 1)
		switch {
		case last != 0xFF:
			c += next << (lowBits - 8 - ct)
			ct += 8
		case next <= 0x8F:
			c += next << (lowBits - 7 - ct)
			ct += 7
		default:
			c += 0xFF << (lowBits - 8 - ct)
			ct += 8
			continue
		}
		m.pos++
		last = next
	}
	return c, ct
}

func (m *mqDecoder) settle() {
	m.slack = slackOf(m.a, m.c)
	m.room = m.slack
}

// slackOf is what the more probable symbols may take off a and c without
// renormalization: the smaller of the two, found without a branch.
func slackOf(a uint32, c uint64) int32 {
	room := int32(a) - 0x8000
	less := int32(c>>lowBits) - room
	return room + less&(less>>31)
}

// bit decodes one symbol (C.3.2, DECODE).
func (m *mqDecoder) bit(cx *mqContext) uint32 {
	if m.room -= int32(*cx >> 16); m.room >= 0 {
		return uint32(*cx) & 1
	}
	return m.exchange(cx)
}

// exchange decodes a symbol that may be the less probable one, and renormalizes.
func (m *mqDecoder) exchange(cx *mqContext) uint32 {
	state := *cx
	a, c, shift, less := split(m.a, m.c, uint32(m.slack-m.room), uint32(state>>16))
	*cx = mqNext[state&127][less]
	m.a, m.c = a, c
	m.settle()
	if m.ct -= shift; m.ct < maxShift {
		m.c, m.ct = m.refill(c, m.ct)
	}
	return uint32(state)&1 ^ less
}

// symbolsOf puts in the place of each context of a list the symbol decoded in it, with
// the registers at hand.
func (m *mqDecoder) symbolsOf(list []uint8) {
	a, c, ct, room, slack := m.a, m.c, m.ct, m.room, m.slack
	for k, context := range list {
		state := m.contexts[context]
		symbol := uint32(state) & 1
		if room -= int32(state >> 16); room < 0 {
			var shift int
			var less uint32
			a, c, shift, less = split(a, c, uint32(slack-room), uint32(state>>16))
			m.contexts[context] = mqNext[state&127][less]
			symbol ^= less
			slack = slackOf(a, c)
			room = slack
			if ct -= shift; ct < maxShift {
				c, ct = m.refill(c, ct)
			}
		}
		list[k] = uint8(symbol)
	}
	m.a, m.c, m.ct, m.room, m.slack = a, c, ct, room, slack
}

// split takes what was used off the registers, the last symbol's Qe with it, tells
// whether that was the less probable one (1) or not (0), and renormalizes by so many
// bits (C.3.3). Which of the two it is cannot be foreseen, so it is worked out without
// branches.
func split(a uint32, c uint64, taken, qe uint32) (uint32, uint64, int, uint32) {
	a -= taken
	lower := (uint32(c>>lowBits) - taken) >> 31 // 1 if Chigh < Qe
	less := (a-qe)>>31 ^ lower                  // conditional exchange
	a ^= (a ^ qe) & -lower                      // Qe, if in the lower part
	c -= uint64(taken-qe&-lower) << lowBits     // Qe too, if in the upper part
	shift := bits.LeadingZeros16(uint16(a))
	return a << shift, c << shift, shift, less & 1
}
