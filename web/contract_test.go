package web

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

var update = flag.Bool("update", false, "write what the page's tests read of the server's answers")

// contract is where the page's tests find the answers.
const contract = "page/test/answers"

// thick has two voices that meet on one port, which the paper cannot tell apart.
const thick = `voice "fast" {
  talea = "3"
  color = "C2"
}
voice "slow" {
  talea = "4"
  color = "C2 G2"
  speed = 2/3
}
`

// handWorked are the arrays of the piece small, worked out by hand: see TestWork.
// The page's decoder is held to them too.
func handWorked(t testing.TB) map[string][]float64 {
	text, err := os.ReadFile("testdata/small.json")
	if err != nil {
		t.Fatal(err)
	}
	return decoded[map[string][]float64](t, text)
}

// own are members whose text is another each time, or for each folder.
var own = []string{"id", "when", "done_at", "folder", "version", "soundVersion"}

// plainly empties the members that are another each time.
func plainly(v any) any {
	switch v := v.(type) {
	case map[string]any:
		for name, value := range v {
			if _, isText := value.(string); isText && slices.Contains(own, name) {
				v[name] = ""
			} else {
				v[name] = plainly(value)
			}
		}
	case []any:
		for i := range v {
			v[i] = plainly(v[i])
		}
	}
	return v
}

// TestAnswers holds the server to the answers that the page's tests decode
// (web/page/test/answers.test.mjs) and that its types are checked against
// (answers.ts, by npm run check). After a change: go test ./web -run
// TestAnswers -update, then npm run check.
func TestAnswers(t *testing.T) {
	b := serve(t, map[string]string{"small.piece": small, "two.piece": twoNotes, "thick.piece": thick})
	binary := func(path string, body m) []byte {
		status, data := b.send("POST", "/api/"+path, body)
		if status != http.StatusOK {
			t.Fatalf("%s: %d %s", path, status, data)
		}
		return data
	}
	work := binary("work", m{"name": "small.piece", "text": small})
	id := unpack(t, work).ID
	thickID := b.work("thick.piece", thick).ID
	golden(t, "work.bin", bytes.ReplaceAll(work, []byte(id), bytes.Repeat([]byte("0"), len(id)))) // it goes by instruments too
	golden(t, "items.bin", binary("part", m{"id": id, "voice": 0}))
	golden(t, "score.bin", binary("part", m{"id": id, "score": true}))
	golden(t, "punches.bin", binary("punches", m{"id": id, "piano": 0, "from": 0, "to": 20}))

	var ts bytes.Buffer
	fmt.Fprint(&ts, `// What the server answers: made by go test ./web -run TestAnswers -update.
import type * as api from "../src/api";
import type { Rolls, View } from "../src/punch/answers";
import type { Plan } from "../src/work";
import type { Head, Held, Loaded } from "./held";
`)
	say := func(name, kind string, data []byte) {
		clean, err := json.MarshalIndent(plainly(decoded[any](t, data)), "", " ")
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&ts, "\nexport const %s: Held<%s> = %s;\n", name, kind, clean)
	}
	post := func(name, kind, path string, body m) { say(name, kind, binary(path, body)) }
	get := func(name, kind, path string) {
		status, data := b.send("GET", "/api/"+path, nil)
		if status != http.StatusOK {
			t.Fatalf("%s: %d %s", path, status, data)
		}
		say(name, kind, data)
	}
	head := func(name, text string) {
		data, err := json.Marshal(b.work(name+".piece", text).head)
		if err != nil {
			t.Fatal(err)
		}
		say(name, "Head", data)
	}
	head("small", small)
	head("mistaken", "voice \"low\" {\n  talea = \"3 x\"\n  color = \"C2\"\n}\n")
	head("thick", thick)
	post("plan", "Plan", "plan", m{"id": thickID})
	get("session", "api.Session", "session")
	get("files", "{ files: api.FileEntry[] }", "files")
	get("examples", "api.Example[]", "examples")
	get("formats", "api.Format[]", "formats")
	post("file", "Loaded", "file", m{"name": "small.piece"})
	post("offer", "api.Offer", "offer", m{"name": "thick.piece"})
	post("hunks", "{ hunks: api.Hunk[] }", "diff", m{"name": "small.piece", "id": "disk", "text": small + "end"})
	post("splice", "api.Splice", "set", m{"text": small, "path": []string{"voice low"}, "attr": "talea", "value": "3 2"})
	post("rolls", "Rolls", "punch", m{"name": "two.piece", "action": "rolls"})
	post("row", "View", "punch", m{"name": "two.piece", "action": "open"})
	golden(t, "../answers.ts", ts.Bytes())
}

// golden compares with a file of the contract.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join(contract, name)
	if *update {
		if err := os.MkdirAll(contract, 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("the server's answer is no longer %s: see TestAnswers", path)
	}
}
