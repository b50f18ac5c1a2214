package job

import (
	"regexp"
	"strings"
)

// Insert adds one thing to the text of a YAML job file and leaves all else as it
// was typed, comments too. The path is a list of tables ("findings") and the value
// one of them in braces, or a key of a table ("complaint.when") and a word for
// it; list says that the key holds a list. It is false where the text is laid out
// in a way that it does not know, and then nothing was changed. Whoever calls it
// reads the result again before he keeps it.
func Insert(src, path, value string, list bool) (string, bool) {
	if strings.HasPrefix(strings.TrimSpace(src), "{") {
		return src, false // JSON
	}
	if src != "" && !strings.HasSuffix(src, "\n") {
		src += "\n"
	}
	lines := strings.SplitAfter(src, "\n")
	lines = lines[:len(lines)-1]
	table, key, nested := strings.Cut(path, ".")
	at := topLine(lines, table)
	switch {
	case !nested:
		return insertItem(lines, at, table, value)
	case at < 0:
		return src + table + ": {" + key + ": " + bracketed(value, list) + "}\n", true
	}
	return insertKey(lines, at, key, value, list)
}

// topLine is the line of a key at the top of the file, or -1.
func topLine(lines []string, key string) int {
	for i, l := range lines {
		if strings.HasPrefix(l, key+":") {
			return i
		}
	}
	return -1
}

// blockEnd is the line behind the block that begins at a line: the next one that
// is not indented, blank lines and comments before it left out.
func blockEnd(lines []string, at int) int {
	end := at + 1
	for i := at + 1; i < len(lines); i++ {
		l := lines[i]
		switch {
		case strings.TrimSpace(l) == "" || strings.HasPrefix(l, "#"):
		case l[0] == ' ' || strings.HasPrefix(l, "- "):
			end = i + 1
		default:
			return end
		}
	}
	return end
}

var (
	itemLine = regexp.MustCompile(`^( *)- `)
	afterKey = regexp.MustCompile(`^[^:]*:\s*(#.*)?\n?$`)
)

func insertItem(lines []string, at int, key, value string) (string, bool) {
	if at < 0 {
		return strings.Join(lines, "") + key + ":\n  - " + value + "\n", true
	}
	if !afterKey.MatchString(lines[at]) {
		return strings.Join(lines, ""), false // a list in brackets
	}
	end, indent := blockEnd(lines, at), "  "
	for _, l := range lines[at+1 : end] {
		if m := itemLine.FindStringSubmatch(l); m != nil {
			indent = m[1]
			break
		}
	}
	return strings.Join(lines[:end], "") + indent + "- " + value + "\n" + strings.Join(lines[end:], ""), true
}

func bracketed(value string, list bool) string {
	if list {
		return "[" + value + "]"
	}
	return value
}

func insertKey(lines []string, at int, key, value string, list bool) (string, bool) {
	text := strings.Join(lines, "")
	start := len(strings.Join(lines[:at], ""))
	_, rest, _ := strings.Cut(lines[at], ":")
	if strings.HasPrefix(strings.TrimSpace(rest), "{") {
		open := start + strings.Index(lines[at], "{")
		close := closing(text, open)
		if close < 0 {
			return text, false
		}
		if has := regexp.MustCompile(`[{,\s]` + regexp.QuoteMeta(key) + `:`).FindStringIndex(text[open:close]); has != nil {
			return intoList(text, open+has[1], close, value, list)
		}
		with := key + ": " + bracketed(value, list)
		if strings.TrimSpace(text[open+1:close]) != "" {
			with += ", "
		}
		return text[:open+1] + with + text[open+1:], true
	}
	if !afterKey.MatchString(lines[at]) {
		return text, false
	}
	indent := "  "
	for _, l := range lines[at+1 : blockEnd(lines, at)] {
		trimmed := strings.TrimLeft(l, " ")
		if trimmed == "\n" || strings.HasPrefix(trimmed, "#") {
			start += len(l)
			continue
		}
		if indent = l[:len(l)-len(trimmed)]; indent == "" {
			return text, false
		}
		break
	}
	from := len(strings.Join(lines[:at+1], ""))
	to := len(strings.Join(lines[:blockEnd(lines, at)], ""))
	if has := regexp.MustCompile(`(?m)^` + indent + regexp.QuoteMeta(key) + `:`).FindStringIndex(text[from:to]); has != nil {
		end := from + has[1] + strings.IndexByte(text[from+has[1]:], '\n')
		return intoList(text, from+has[1], end, value, list)
	}
	return text[:from] + indent + key + ": " + bracketed(value, list) + "\n" + text[from:], true
}

// intoList adds a word to what stands behind a key: a list in brackets, or one
// word that becomes a list.
func intoList(text string, from, to int, value string, list bool) (string, bool) {
	if !list {
		return text, false // it is said already
	}
	rest := text[from:to]
	blank := len(rest) - len(strings.TrimLeft(rest, " "))
	rest = rest[blank:]
	from += blank
	if strings.HasPrefix(rest, "[") {
		end := closing(text, from)
		if end < 0 {
			return text, false
		}
		if strings.TrimSpace(text[from+1:end]) != "" {
			value = ", " + value
		}
		return text[:end] + value + text[end:], true
	}
	if word := plainWord.FindString(rest); word != "" {
		return text[:from] + "[" + word + ", " + value + "]" + text[from+len(word):], true
	}
	return text, false
}

var plainWord = regexp.MustCompile(`^[a-z][a-z-]*`)

// closing is the place of the bracket that closes the one at open, or -1.
func closing(text string, open int) int {
	depth, quote := 0, byte(0)
	for i := open; i < len(text); i++ {
		switch c := text[i]; {
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case (c == '"' || c == '\'') && (text[i-1] == ' ' || text[i-1] == '[' || text[i-1] == '{'):
			quote = c
		case c == '{' || c == '[':
			depth++
		case c == '}' || c == ']':
			if depth--; depth == 0 {
				return i
			}
		}
	}
	return -1
}

// Quoted is a text as it stands in a job file: in quotes where it needs them.
func Quoted(text string) string { return yamlScalar(text) }
