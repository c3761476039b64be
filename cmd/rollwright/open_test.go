package main

import (
	"bytes"
	"context"
	"fmt"
	"net"
	"strings"
	"testing"
	"time"
)

// A port that another program has is told, with the one that is taken instead.
func TestBusyPort(t *testing.T) {
	taken, err := net.Listen("tcp4", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	port := taken.Addr().(*net.TCPAddr).Port
	ctx, stop := context.WithTimeout(context.Background(), 200*time.Millisecond)
	defer stop()
	var out, said bytes.Buffer
	command := openCommand{Path: t.TempDir(), Port: port}
	if err := command.Run(ctx, terminal{nil, &out, &said}); err != nil {
		t.Fatal(err)
	}
	if want := fmt.Sprintf("port %d is not free; port ", port); !strings.HasPrefix(said.String(), want) {
		t.Errorf("it said %q, want %q first", said.String(), want)
	}
	if strings.Contains(out.String(), fmt.Sprintf(":%d/", port)) {
		t.Errorf("it gave the taken port: %s", out.String())
	}
}
