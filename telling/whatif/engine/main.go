//go:build js && wasm

// Engine is package whatif for the script of a page. It leaves two functions behind, whose
// arguments and answers are JSON: the script has to read nothing else.
//
//	rollwrightEngine.open(source)    the pairs that can be asked
//	rollwrightEngine.ask(question)   an answer; of the source that was opened last
//
// A mistake is an object with the field error, as a sentence.
package main

import (
	"encoding/json"
	"errors"
	"syscall/js"

	"rollwright/telling/whatif"
)

func main() {
	var piece *whatif.Piece
	js.Global().Set("rollwrightEngine", js.ValueOf(map[string]any{
		"open": answering(func(text string) (any, error) {
			var source whatif.Source
			if err := json.Unmarshal([]byte(text), &source); err != nil {
				return nil, err
			}
			var err error
			if piece, err = whatif.Open(source); err != nil {
				return nil, err
			}
			return piece.Pairs(), nil
		}),
		"ask": answering(func(text string) (any, error) {
			var question whatif.Question
			if err := json.Unmarshal([]byte(text), &question); err != nil {
				return nil, err
			}
			if piece == nil {
				return nil, errors.New("no piece is open")
			}
			return piece.Ask(question)
		}),
	}))
	select {} // the functions stay until the page goes
}

// answering makes a function of JSON one of the script.
func answering(f func(text string) (any, error)) js.Func {
	return js.FuncOf(func(_ js.Value, args []js.Value) any {
		answer, err := f(args[0].String())
		if err != nil {
			answer = map[string]string{"error": err.Error()}
		}
		text, err := json.Marshal(answer)
		if err != nil {
			return `{"error":"the answer is no JSON"}`
		}
		return string(text)
	})
}
