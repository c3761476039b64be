//go:build !unix

package web

const nonblocking = 0
