//go:build !race

package web

const racing = false
