package main

import (
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"

	"github.com/alecthomas/kong"
)

// decimalMapper reads the numbers of flags: decimals with a point, finite.
func decimalMapper(line *kong.DecodeContext, target reflect.Value) error {
	var text string
	if err := line.Scan.PopValueInto("number", &text); err != nil {
		return err
	}
	x, err := decimal(text)
	if err == nil {
		target.SetFloat(x)
	}
	return err
}

func decimal(text string) (float64, error) {
	x, err := strconv.ParseFloat(text, 64)
	if err == nil && !math.IsNaN(x) && !math.IsInf(x, 0) {
		return x, nil
	}
	if point := strings.Replace(text, ",", ".", 1); point != text {
		if _, err := decimal(point); err == nil {
			return 0, fmt.Errorf("%q has a comma: write %s", text, point)
		}
	}
	return 0, fmt.Errorf("%q is no number", text)
}
