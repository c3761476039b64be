package web

import (
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestGuard sends what other pages, programs and machines could send. Rules of
// Host, Origin and cookies: RFC 9110 7.2, RFC 6454 7, RFC 6265bis; Sec-Fetch-Site:
// W3C Fetch Metadata.
func TestGuard(t *testing.T) {
	b := serve(t, map[string]string{"a.piece": small})
	root := strings.TrimSuffix(b.base, b.server.root())
	port, key := root[strings.LastIndex(root, ":"):], b.server.root()
	post := func(r *http.Request) { r.Header.Set("X-Rollwright", "1") }
	cases := []struct {
		name, method, path, host string
		header                   map[string]string
		also                     func(*http.Request)
		want                     int
	}{
		{name: "the page", path: key + "/", want: 200},
		{name: "the page's folder", path: key, want: 303},
		{name: "by name", path: key + "/", host: "localhost" + port, want: 200},
		{name: "no key", path: "/", want: 401},
		{name: "no key", path: "/api/files", want: 401},
		{name: "wrong key", path: "/00/api/files", want: 401},
		{name: "half a key", path: key[:20] + "/api/files", want: 401},
		{name: "key behind", path: "/api/files" + key, want: 401},
		{name: "key asked for", path: "/api/files?key=" + b.server.token, want: 401},
		{name: "key in a cookie", path: "/api/files", header: m1("Cookie", "key="+b.server.token), want: 401},
		{name: "a rebound name", path: key + "/api/files", host: "evil.example" + port, want: 421},
		{name: "another port", path: key + "/api/files", host: "127.0.0.1:1", want: 421},
		{name: "no port", path: key + "/api/files", host: "127.0.0.1", want: 421},
		{name: "own origin", path: key + "/api/files", header: m1("Origin", root), want: 200},
		{name: "another origin", path: key + "/api/files", header: m1("Origin", "http://evil.example"), want: 403},
		{name: "an origin that hides", path: key + "/api/files", header: m1("Origin", "null"), want: 403},
		{name: "own host as another scheme", path: key + "/api/files", header: m1("Origin", "https"+root[4:]), want: 403},
		{name: "own host by its other name", path: key + "/api/files", header: m1("Origin", "http://localhost"+port), want: 403},
		{name: "a picture elsewhere", path: key + "/api/files", header: m1("Sec-Fetch-Site", "cross-site"), want: 403},
		{name: "a page of another port", path: key + "/api/files", header: m1("Sec-Fetch-Site", "same-site"), want: 403},
		{name: "a link elsewhere", path: key + "/",
			header: map[string]string{"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate"}, want: 200},
		{name: "post without header", method: "POST", path: key + "/api/file", want: 403},
		{name: "post", method: "POST", path: key + "/api/file", also: post, want: 200},
		{name: "get of what is posted", path: key + "/api/save", want: 404},
		{name: "another method", method: "PUT", path: key + "/api/save", also: post, want: 404},
		{name: "a method on the page", method: "POST", path: key + "/", also: post, want: 404},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			method := c.method
			if method == "" {
				method = "GET"
			}
			r, err := http.NewRequest(method, root+c.path, strings.NewReader(`{"name":"a.piece"}`))
			if err != nil {
				t.Fatal(err)
			}
			r.Host = c.host
			for k, v := range c.header {
				r.Header.Set(k, v)
			}
			if c.also != nil {
				c.also(r)
			}
			answer, err := http.DefaultTransport.RoundTrip(r)
			if err != nil {
				t.Fatal(err)
			}
			body, _ := io.ReadAll(answer.Body)
			answer.Body.Close()
			if answer.StatusCode != c.want {
				t.Errorf("%s %s: status %d, want %d: %s", method, c.path, answer.StatusCode, c.want, body)
			}
			if answer.Header.Get("Access-Control-Allow-Origin") != "" {
				t.Error("other origins are let in")
			}
			if csp := answer.Header.Get("Content-Security-Policy"); !strings.HasPrefix(csp,
				"default-src 'none'; script-src 'self';") || strings.Contains(csp, "unsafe") {
				t.Errorf("the policy is %q", csp)
			}
			if len(answer.Cookies()) > 0 {
				t.Error("a cookie goes to every port of this machine")
			}
			if answer.StatusCode >= 400 && strings.Contains(string(body), b.server.token) {
				t.Error("an error gives the key away")
			}
		})
	}
}

func m1(k, v string) map[string]string { return map[string]string{k: v} }

// TestStrangersAreNotWaitedFor: a request without the key is answered and closed
// although its body never ends.
func TestStrangersAreNotWaitedFor(t *testing.T) {
	b := serve(t, nil)
	host := strings.TrimPrefix(strings.TrimSuffix(b.base, b.server.root()), "http://")
	c, err := net.Dial("tcp", host)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	fmt.Fprintf(c, "POST /api/save HTTP/1.1\r\nHost: %s\r\nContent-Length: 1000000\r\n\r\n", host)
	ended := make(chan bool)
	go func() { // a byte every tenth of a second, for as long as somebody takes it
		for {
			select {
			case <-ended:
				return
			case <-time.After(100 * time.Millisecond):
				c.Write([]byte("x"))
			}
		}
	}()
	c.SetReadDeadline(time.Now().Add(10 * time.Second))
	answer, err := io.ReadAll(c)
	close(ended)
	var timeout net.Error
	if errors.As(err, &timeout) && timeout.Timeout() || !strings.HasPrefix(string(answer), "HTTP/1.1 401 ") {
		t.Errorf("%v, %s", err, answer)
	}
}

// TestStreamsAreCapped: there is an end to the pages that may listen.
func TestStreamsAreCapped(t *testing.T) {
	b := serve(t, nil)
	for range mostTabs {
		b.listen("")
	}
	r, err := b.client.Get(b.base + "/api/watch")
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	if r.StatusCode != http.StatusTooManyRequests {
		t.Errorf("one more is answered %s", r.Status)
	}
}

func must[T any](x T, err error) T {
	if err != nil {
		panic(err)
	}
	return x
}

// TestNames asks for files outside the folder in every way of writing them.
func TestNames(t *testing.T) {
	b := serve(t, map[string]string{"a.piece": small, "sub/b.piece": small})
	outside := filepath.Join(filepath.Dir(b.dir), "outside.piece")
	if err := os.WriteFile(outside, []byte("secret"), 0o644); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.Remove(outside) })
	os.Symlink(outside, filepath.Join(b.dir, "link.piece"))
	os.Symlink(filepath.Dir(b.dir), filepath.Join(b.dir, "up"))
	os.Mkdir(filepath.Join(b.dir, "folder.piece"), 0o755)
	bad := []string{
		"", ".piece", "a", "a.txt", "../outside.piece", "sub/../../outside.piece", "./a.piece", "sub//b.piece", "/etc/passwd",
		outside,
		`..\outside.piece`, `C:\a.piece`, "C:a.piece", "link.piece", "up/outside.piece", ".rollwright/x.piece",
		".hidden.piece",
		"sub/.hidden.piece", "a.piece\x00", "a\n.piece", "a.piece/", "folder.piece", "a .piece/../a.piece",
		strings.Repeat("x", 300) + ".piece",
		" a.piece", "sub /b.piece", "nul\u0085.piece",
	}
	for _, name := range bad {
		for path, body := range map[string]m{
			"/api/file":     {"name": name},
			"/api/save":     {"name": name, "text": "x", "base": "", "tab": ""},
			"/api/history":  {"name": name},
			"/api/snapshot": {"name": name, "label": ""},
			"/api/restore":  {"name": name, "id": "x"},
			"/api/copy":     {"name": "a.piece", "to": "../" + name},
			"/api/rename":   {"name": name, "to": "new.piece"},
			"/api/diff":     {"name": name, "id": "disk", "text": ""},
		} {
			if name == "folder.piece" && (path == "/api/history" || path == "/api/rename") {
				continue // a folder may be renamed: it stays inside
			}
			if name == "up/outside.piece" && path == "/api/history" {
				continue // there is none
			}
			if name == "link.piece" && (path == "/api/history" || path == "/api/rename") {
				continue // the link itself stays inside
			}
			if status, data := b.send("POST", path, body); status < 400 || strings.Contains(string(data), "secret") {
				t.Errorf("%s of %q: %d %s", path, name, status, data)
			}
		}
		if name == "" || checkName(name) == nil {
			continue // the whole folder, or a name that only the disk can refuse
		}
		if status, _ := b.send("GET", "/api/watch?name="+url.QueryEscape(name), nil); status != http.StatusBadRequest {
			t.Errorf("watch of %q: %d", name, status)
		}
	}
	if text := must(os.ReadFile(outside)); string(text) != "secret" {
		t.Errorf("the file outside has become %q", text)
	}
	if got := ask[fileText](b, "/api/file", m{"name": "sub/b.piece"}); got.Text != small {
		t.Errorf("a piece one folder down is %q", got.Text)
	}
}

// TestInstrumentsStayInside: a piece from elsewhere cannot make the workbench read
// what lies outside its folder, nor can an instrument that it names.
func TestInstrumentsStayInside(t *testing.T) {
	b := serve(t, map[string]string{
		"own.instrument": "like = \"88-note\"\n",
		"led.instrument": "like = \"../secret.instrument\"\n",
	})
	outside := filepath.Join(filepath.Dir(b.dir), "secret.instrument")
	if err := os.WriteFile(outside, []byte("secret = 1\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.Remove(outside) })
	os.Symlink(outside, filepath.Join(b.dir, "link.instrument"))
	for name, ok := range map[string]bool{
		"88-note": true, "own.instrument": true, "led.instrument": false, "../secret.instrument": false,
		outside: false, "link.instrument": false, "/etc/passwd": false, "/dev/zero": false,
	} {
		u := b.work("x.piece", fmt.Sprintf("instrument = %q\n", name)+small[strings.Index(small, "voice"):])
		if u.OK != ok {
			t.Errorf("instrument %q: ok is %v, errors %v", name, u.OK, u.Errors)
		}
		for _, e := range u.Errors {
			if strings.Contains(e.Problem+e.Hint, "secret = 1") || strings.Contains(e.Problem, "root:") {
				t.Errorf("instrument %q gives a file away: %v", name, e)
			}
		}
	}
}

// TestSizes: more than the workbench takes is refused, not read.
func TestSizes(t *testing.T) {
	b := serve(t, map[string]string{"a.piece": small})
	b.put("large.piece", strings.Repeat("#", mostText+1))
	huge := strings.Repeat("x", mostBody)
	for path, body := range map[string]m{
		"/api/work":   {"name": "a.piece", "text": huge},
		"/api/save":   {"name": "a.piece", "text": huge, "base": "", "tab": ""},
		"/api/set":    {"text": huge, "path": []string{}, "attr": "title", "value": "x"},
		"/api/remedy": {"name": "a.piece", "text": huge, "finding": ""},
		"/api/file":   {"name": "large.piece"},
	} {
		if status, data := b.send("POST", path, body); status != http.StatusRequestEntityTooLarge {
			t.Errorf("%s: %d %.80s", path, status, data)
		}
	}
	// A text of a megabyte that JSON makes larger still fits, and is read to its last line.
	text := strings.Repeat("# \"quoted\"\n", 90_000)
	if u := b.work("a.piece", text+"vioce a {\n}\n"); len(u.Errors) == 0 || u.Errors[0].Line != 90_001 {
		t.Errorf("a word that is not known in line 90001: %+v", u.Errors)
	}
	// Remarks alone are a page with nothing on it yet, which is no mistake.
	if u := b.work("a.piece", text); len(u.Errors) != 0 {
		t.Errorf("nothing but remarks: %+v", u.Errors)
	}
	for _, body := range []string{"", "{", "[]", `{"name":"a.piece"} {}`, `{"nome":"a.piece"}`, "null null",
		`{"name":1}`} {
		r := must(http.NewRequest("POST", b.base+"/api/file", strings.NewReader(body)))
		r.Header.Set("X-Rollwright", "1")
		answer := must(b.client.Do(r))
		answer.Body.Close()
		if answer.StatusCode != http.StatusBadRequest {
			t.Errorf("the body %q: %s", body, answer.Status)
		}
	}
}

// FuzzName: whatever name is taken leads to a place inside the folder.
func FuzzName(f *testing.F) {
	for _, name := range []string{"a.piece", "../a.piece", "a/b.piece", "a/../../b.piece", "//a.piece", "a\\b.piece",
		"CON.piece"} {
		f.Add(name)
	}
	f.Fuzz(func(t *testing.T, name string) {
		if checkName(name) != nil {
			return
		}
		full := filepath.Join("/folder", filepath.FromSlash(name))
		if !strings.HasPrefix(full, "/folder/") || strings.Contains(full, "/.") || filepath.Clean(name) != name {
			t.Errorf("%q leads to %s", name, full)
		}
	})
}
