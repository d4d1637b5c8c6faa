package jpeg2000

// The bytes of a high-throughput cleanup pass hold three streams (T.814 7.1): the
// values of samples from the front, and behind them, towards each other, run
// lengths from the front and codes of quads from the back.

// forwardBits reads bits from the front, the lowest of a byte first, and seven of a
// byte after FF (T.814 7.1.2). After the data it reads the bytes in after.
type forwardBits struct {
	src    []byte
	after  byte
	acc    uint64
	n      int
	stuffs bool // the last byte was FF
}

func (f *forwardBits) bits(n int) uint32 {
	for f.n < n {
		b := f.after
		if len(f.src) > 0 {
			b, f.src = f.src[0], f.src[1:]
		}
		width := 8
		if f.stuffs {
			b, width = b&0x7F, 7
		}
		f.acc |= uint64(b) << f.n
		f.n += width
		f.stuffs = b == 0xFF
	}
	v := uint32(f.acc) & (1<<n - 1)
	f.acc >>= n
	f.n -= n
	return v
}

// backwardBits reads bits from the back, the lowest of a byte first, and seven of a
// byte whose bits are all set behind one above 8F (T.814 7.1.4). After the data it
// reads zeros.
type backwardBits struct {
	src    []byte
	acc    uint64
	n      int
	stuffs bool // the last byte was above 8F
}

// peek returns the next 32 bits or more.
func (r *backwardBits) peek() uint64 {
	for r.n <= 32 {
		b := byte(0)
		if last := len(r.src) - 1; last >= 0 {
			b, r.src = r.src[last], r.src[:last]
		}
		width := 8
		if r.stuffs && b&0x7F == 0x7F {
			width = 7
		}
		r.acc |= uint64(b&(1<<width-1)) << r.n
		r.n += width
		r.stuffs = b > 0x8F
	}
	return r.acc
}

func (r *backwardBits) skip(n int) {
	r.acc >>= n
	r.n -= n
}

func (r *backwardBits) bits(n int) uint32 {
	v := uint32(r.peek()) & (1<<n - 1)
	r.skip(n)
	return v
}

// runs decodes the events of the adaptive run-length code MEL (T.814 7.3.3), from
// bits the highest of a byte first, seven of a byte after FF, and ones after the data.
type runs struct {
	src   []byte
	last  byte
	left  int // bits of last
	state int
	run   int  // events 0 to come
	ends  bool // an event 1 after them
}

// runLengths are the lengths in bits of the runs of each state.
var runLengths = [13]int{0, 0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 5}

func (m *runs) bit() int {
	if m.left == 0 {
		m.left = 8
		if m.last == 0xFF {
			m.left = 7
		}
		m.last = 0xFF
		if len(m.src) > 0 {
			m.last, m.src = m.src[0], m.src[1:]
		}
	}
	m.left--
	return int(m.last>>m.left) & 1
}

func (m *runs) event() bool {
	if m.run == 0 && !m.ends {
		length := runLengths[m.state]
		if m.bit() == 1 {
			m.run = 1 << length
			m.state = min(m.state+1, len(runLengths)-1)
		} else {
			for range length {
				m.run = m.run<<1 | m.bit()
			}
			m.state = max(m.state-1, 0)
			m.ends = true
		}
	}
	if m.run > 0 {
		m.run--
		return false
	}
	m.ends = false
	return true
}
