package codec

import "unsafe"

const wideFrom = 4 << 20 // bytes; large pages have 2 MB on most processors

// Room is memory for n samples or bytes, all 0. Large ones come in large pages where the
// system gives them when asked: to set up 18 MB in pages of 4 KB takes 10 ms.
func Room[T byte | uint16](n int) []T {
	s := make([]T, n)
	if size := n * int(unsafe.Sizeof(T(0))); size >= wideFrom {
		wide(unsafe.Slice((*byte)(unsafe.Pointer(unsafe.SliceData(s))), size))
	}
	return s
}
