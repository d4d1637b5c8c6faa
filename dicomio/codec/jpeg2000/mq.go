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

// mqContext is the state of one context: its row, the more probable symbol, and
// the row's Qe at hand.
type mqContext struct {
	qe  int32
	mps uint8
	row uint8
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
	contexts [32]mqContext // 19 are in use
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
	for i := range m.contexts {
		m.contexts[i] = mqContext{qe: int32(mqRows[0].qe)}
	}
	m.contexts[0] = mqContext{qe: int32(mqRows[4].qe), row: 4}
	m.contexts[contextRunLength] = mqContext{qe: int32(mqRows[3].qe), row: 3}
	m.contexts[contextUniform] = mqContext{qe: int32(mqRows[46].qe), row: 46}
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
func (m *mqDecoder) bit(context uint8) uint32 {
	cx := &m.contexts[context&31]
	if m.room -= cx.qe; m.room >= 0 {
		return uint32(cx.mps)
	}
	return m.exchange(cx)
}

// exchange decodes a symbol that may be the less probable one, and renormalizes.
func (m *mqDecoder) exchange(cx *mqContext) uint32 {
	qe := uint32(cx.qe)
	before := uint32(m.slack-m.room) - qe // taken by the symbols before this one
	a, c := m.a-before-qe, m.c-before<<16
	row := &mqRows[cx.row]
	symbol, less := uint32(cx.mps), a < qe // conditional exchange
	if c>>16 < qe {
		less = !less
		a = qe
	} else {
		c -= qe << 16
	}
	next := row.nextMPS
	if less {
		symbol ^= 1
		cx.mps ^= row.exchange
		next = row.nextLPS
	}
	cx.row, cx.qe = next, int32(mqRows[next].qe)

	m.c = c // renormalize (C.3.3)
	shift := uint(bits.LeadingZeros16(uint16(a)))
	a <<= shift
	for shift > 0 {
		if m.ct == 0 {
			m.byteIn()
		}
		n := min(shift, m.ct)
		m.c <<= n
		m.ct -= n
		shift -= n
	}
	m.a = a
	m.settle()
	return symbol
}
