//go:build unix

package web

import "syscall"

// nonblocking lets a named pipe be opened, and then refused, without waiting
// for somebody to write into it.
const nonblocking = syscall.O_NONBLOCK
