package punching

import "strings"

// glyphs are large letters as 7 rows of dots from top to bottom: figures, the
// sign between turns and parts, the capitals of the words shown.
var glyphs = map[rune][7]string{
	'0': {".###.", "#...#", "#..##", "#.#.#", "##..#", "#...#", ".###."},
	'1': {"..#..", ".##..", "..#..", "..#..", "..#..", "..#..", ".###."},
	'2': {".###.", "#...#", "....#", "..##.", ".#...", "#....", "#####"},
	'3': {"####.", "....#", "....#", ".###.", "....#", "....#", "####."},
	'4': {"...#.", "..##.", ".#.#.", "#..#.", "#####", "...#.", "...#."},
	'5': {"#####", "#....", "####.", "....#", "....#", "#...#", ".###."},
	'6': {"..##.", ".#...", "#....", "####.", "#...#", "#...#", ".###."},
	'7': {"#####", "....#", "...#.", "..#..", ".#...", ".#...", ".#..."},
	'8': {".###.", "#...#", "#...#", ".###.", "#...#", "#...#", ".###."},
	'9': {".###.", "#...#", "#...#", ".####", "....#", "...#.", ".##.."},
	'A': {".###.", "#...#", "#...#", "#####", "#...#", "#...#", "#...#"},
	'B': {"####.", "#...#", "#...#", "####.", "#...#", "#...#", "####."},
	'C': {".###.", "#...#", "#....", "#....", "#....", "#...#", ".###."},
	'D': {"####.", "#...#", "#...#", "#...#", "#...#", "#...#", "####."},
	'E': {"#####", "#....", "#....", "####.", "#....", "#....", "#####"},
	'F': {"#####", "#....", "#....", "####.", "#....", "#....", "#...."},
	'G': {".###.", "#...#", "#....", "#.###", "#...#", "#...#", ".####"},
	'H': {"#...#", "#...#", "#...#", "#####", "#...#", "#...#", "#...#"},
	'I': {".###.", "..#..", "..#..", "..#..", "..#..", "..#..", ".###."},
	'K': {"#...#", "#..#.", "#.#..", "##...", "#.#..", "#..#.", "#...#"},
	'L': {"#....", "#....", "#....", "#....", "#....", "#....", "#####"},
	'N': {"#...#", "##..#", "##..#", "#.#.#", "#..##", "#..##", "#...#"},
	'O': {".###.", "#...#", "#...#", "#...#", "#...#", "#...#", ".###."},
	'P': {"####.", "#...#", "#...#", "####.", "#....", "#....", "#...."},
	'R': {"####.", "#...#", "#...#", "####.", "#.#..", "#..#.", "#...#"},
	'S': {".####", "#....", "#....", ".###.", "....#", "....#", "####."},
	'T': {"#####", "..#..", "..#..", "..#..", "..#..", "..#..", "..#.."},
	'U': {"#...#", "#...#", "#...#", "#...#", "#...#", "#...#", ".###."},
	'+': {".....", "..#..", "..#..", "#####", "..#..", "..#..", "....."},
	'-': {".....", ".....", ".....", "#####", ".....", ".....", "....."},
	' ': {"...", "...", "...", "...", "...", "...", "..."},
}

const dotsHigh = 7

// dots are the rows of text in large letters, one dot between two of them.
func dots(text string) [dotsHigh]string {
	var out [dotsHigh]strings.Builder
	for i, r := range text {
		g, ok := glyphs[r]
		if !ok {
			g = glyphs['-']
		}
		for y := range out {
			if i > 0 {
				out[y].WriteByte('.')
			}
			out[y].WriteString(g[y])
		}
	}
	var rows [dotsHigh]string
	for y := range out {
		rows[y] = out[y].String()
	}
	return rows
}

// Large is text in large letters: each dot is scale columns wide and half as
// many rows high, for a terminal's cell is about twice as high as wide. Scale is
// 1, 2 or 4. Without blocks it is made of number signs, and scale 1 is as high
// as 2.
func Large(text string, scale int, blocks bool) []string {
	rows := dots(text)
	if scale == 1 && blocks {
		return halves(rows)
	}
	full := "#"
	if blocks {
		full = "█"
	}
	wide := strings.NewReplacer("#", strings.Repeat(full, scale), ".", strings.Repeat(" ", scale))
	var out []string
	for _, row := range rows {
		for range max(scale/2, 1) {
			out = append(out, wide.Replace(row))
		}
	}
	return out
}

// halves puts two rows of dots into one row of half blocks.
func halves(rows [dotsHigh]string) []string {
	var out []string
	for y := 0; y < dotsHigh; y += 2 {
		var b strings.Builder
		for x := range rows[y] {
			upper, lower := rows[y][x] == '#', y+1 < dotsHigh && rows[y+1][x] == '#'
			switch {
			case upper && lower:
				b.WriteRune('█')
			case upper:
				b.WriteRune('▀')
			case lower:
				b.WriteRune('▄')
			default:
				b.WriteByte(' ')
			}
		}
		out = append(out, b.String())
	}
	return out
}

// largeHigh is how many rows large letters take.
func largeHigh(scale int, blocks bool) int { return len(Large("0", scale, blocks)) }

// largeWide is how many columns text takes.
func largeWide(text string, scale int) int { return len(dots(text)[0]) * scale }
