package codec

import (
	"os"
	"syscall"
	"unsafe"
)

// wide asks the system for large pages, which a page of the usual size has to begin. A
// system that has none leaves the memory as it is.
func wide(b []byte) {
	page := os.Getpagesize()
	skip := -int(uintptr(unsafe.Pointer(unsafe.SliceData(b)))) & (page - 1)
	_ = syscall.Madvise(b[skip:], syscall.MADV_HUGEPAGE)
}
