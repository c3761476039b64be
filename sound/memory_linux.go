package sound

import (
	"syscall"
	"unsafe"
)

// mapped is memory for n samples beside the collector's heap, and what gives it
// back. In the heap a hundred megabytes of notes would let garbage grow by as much
// again before it is collected. Without memory to map it is the heap's after all.
func mapped(n int) (x []float32, giveBack func()) {
	b, err := syscall.Mmap(-1, 0, 4*n, syscall.PROT_READ|syscall.PROT_WRITE, syscall.MAP_ANON|syscall.MAP_PRIVATE)
	if err != nil {
		return make([]float32, n), func() {}
	}
	adviseBytes(b)
	return unsafe.Slice((*float32)(unsafe.Pointer(&b[0])), n), func() { _ = syscall.Munmap(b) } // it is a mapping
}

// advise asks for the memory of x in large pages: filling a hundred megabytes page
// by small page costs as much as mixing the sound in it.
func advise(x []float32) {
	if len(x) >= 1<<19 {
		adviseBytes(bytesOf(x))
	}
}

// adviseBytes is advise of a whole memory. It is advice, so an error changes nothing.
func adviseBytes(b []byte) {
	const page = 4096
	if len(b) < page {
		return
	}
	from := -int(uintptr(unsafe.Pointer(&b[0]))) & (page - 1)
	to := from + (len(b)-from)&^(page-1)
	_ = syscall.Madvise(b[from:to], syscall.MADV_HUGEPAGE)
}
