package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"net/http"
)

// refusal is an error for the page: its status, and what happened and what to
// do in words.
type refusal struct {
	status int
	text   string
}

func (r *refusal) Error() string { return r.text }

// get answers a request without a body.
func get[Out any](answer func(context.Context) (Out, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		out, err := answer(r.Context())
		reply(w, out, err)
	}
}

// post answers a request whose body is an In as JSON.
func post[In, Out any](answer func(context.Context, In) (Out, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		var in In
		if err := decode(r.Body, &in); err != nil {
			fail(w, err)
			return
		}
		out, err := answer(r.Context(), in)
		reply(w, out, err)
	}
}

// decode reads one JSON value that has no field but those of in.
func decode(body io.Reader, in any) error {
	d := json.NewDecoder(body)
	d.DisallowUnknownFields()
	err := d.Decode(in)
	if err == nil {
		if _, extra := d.Token(); !errors.Is(extra, io.EOF) {
			err = errors.New("more than one value")
		}
	}
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return &refusal{http.StatusRequestEntityTooLarge, "this is more than the workbench takes at once: a piece has at most a megabyte of text"}
	case err != nil:
		return &refusal{http.StatusBadRequest, "the request is not as the workbench expects it: " + err.Error()}
	}
	return nil
}

func reply(w http.ResponseWriter, out any, err error) {
	if err != nil {
		fail(w, err)
		return
	}
	write(w, http.StatusOK, out)
}

// write sends a value as JSON.
func write(w http.ResponseWriter, status int, out any) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(out); err != nil {
		status = http.StatusInternalServerError
		b.Reset()
		b.WriteString(`{"error":"the answer cannot be written as JSON"}`)
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.WriteHeader(status)
	w.Write(b.Bytes())
}

// conflict is an error that comes with more than words.
type conflict struct {
	refusal
	body any
}

func (c *conflict) Unwrap() error { return &c.refusal }

// fail sends an error in words.
func fail(w http.ResponseWriter, err error) {
	var more *conflict
	var told *refusal
	switch {
	case errors.As(err, &more):
		write(w, more.status, more.body)
	case errors.As(err, &told):
		write(w, told.status, map[string]string{"error": told.text})
	case errors.Is(err, fs.ErrNotExist):
		write(w, http.StatusNotFound, map[string]string{"error": "there is no such file any more; look at the list of files"})
	case errors.Is(err, fs.ErrPermission):
		write(w, http.StatusForbidden, map[string]string{"error": "no permission: " + err.Error()})
	case errors.Is(err, context.Canceled):
		write(w, http.StatusServiceUnavailable, map[string]string{"error": "given up, because a newer request came"})
	default:
		write(w, http.StatusInternalServerError, map[string]string{"error": err.Error()})
	}
}
