package web_test

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"os"

	"rollwright/web"
)

// A workbench is for whoever has the address that it printed, with its key, and
// for nobody else.
func Example() {
	folder, err := os.MkdirTemp("", "pieces")
	if err != nil {
		panic(err)
	}
	defer os.RemoveAll(folder)
	server, err := web.New(web.Options{Folder: folder})
	if err != nil {
		panic(err)
	}
	listener, err := web.Listen(0)
	if err != nil {
		panic(err)
	}
	ctx, end := context.WithCancel(context.Background())
	ended := make(chan error)
	address := server.Address(listener)
	go func() { ended <- server.Serve(ctx, listener) }()

	answer, err := http.Get("http://" + listener.Addr().String())
	if err != nil {
		panic(err)
	}
	text, _ := io.ReadAll(answer.Body)
	answer.Body.Close()
	fmt.Printf("%d %s", answer.StatusCode, text)

	if answer, err = http.Get(address); err != nil {
		panic(err)
	}
	answer.Body.Close()
	fmt.Println(answer.StatusCode, answer.Header.Get("Content-Type"))
	end()
	fmt.Println(<-ended)
	// Output:
	// 401 {"error":"this key is not, or no longer, the workbench's: open the address that it printed when it started"}
	// 200 text/html; charset=utf-8
	// <nil>
}
