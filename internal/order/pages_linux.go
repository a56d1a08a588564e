package order

import (
	"unsafe"

	"golang.org/x/sys/unix"
)

// hugePage is the size of the large pages of most processors; the usual ones have 4 KiB.
const hugePage = 2 << 20

// inHugePages asks for large pages where v will stand, if it is long. To have a hundred thousand small ones made takes
// half as long as to read the numbers that go there. A system that has none to give leaves things as they are.
func inHugePages(v []float64) {
	start := unsafe.Pointer(unsafe.SliceData(v))
	memory := unsafe.Slice((*byte)(start), 8*cap(v))
	skip := -uintptr(start) % hugePage
	if uintptr(len(memory)) < skip+hugePage {
		return
	}
	memory = memory[skip:]
	_ = unix.Madvise(memory[:len(memory)/hugePage*hugePage], unix.MADV_HUGEPAGE)
}
