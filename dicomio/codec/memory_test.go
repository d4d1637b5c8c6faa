package codec

import "testing"

// Room of any size, on either side of what comes in large pages, is zero and its owner's.
func TestRoom(t *testing.T) {
	for _, n := range []int{0, 1, wideFrom - 1, wideFrom, wideFrom + 1, 5*wideFrom + 4097} {
		first, second := Room[byte](n), Room[uint16](n)
		if len(first) != n || len(second) != n {
			t.Fatalf("%d, %d of %d", len(first), len(second), n)
		}
		for i := range n {
			if first[i] != 0 || second[i] != 0 {
				t.Fatalf("place %d of %d is not 0", i, n)
			}
			first[i], second[i] = 0xA5, 0x5AA5
		}
		for i := range n {
			if first[i] != 0xA5 || second[i] != 0x5AA5 {
				t.Fatalf("place %d of %d is lost", i, n)
			}
		}
	}
}
