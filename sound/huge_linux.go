package sound

import (
	"syscall"
	"unsafe"
)

// advise asks for the memory of x in large pages: filling a hundred megabytes page
// by small page costs as much as mixing the sound in it. It is advice, so an error
// changes nothing.
func advise(x []float32) {
	if len(x) < 1<<19 {
		return
	}
	const page = 4096
	b := unsafe.Slice((*byte)(unsafe.Pointer(&x[0])), 4*len(x))
	from := -int(uintptr(unsafe.Pointer(&b[0]))) & (page - 1)
	to := from + (len(b)-from)&^(page-1)
	_ = syscall.Madvise(b[from:to], syscall.MADV_HUGEPAGE)
}
