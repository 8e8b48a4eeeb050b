package lex

import (
	"slices"
	"strings"
)

// AttrOf reads an attribute out of what attrsOf gives.
func AttrOf(attrs, name string) string {
	for rest := attrs; rest != ""; {
		eq := strings.Index(rest, `="`)
		end := strings.IndexByte(rest[eq+2:], '"') + eq + 2
		if rest[:eq] == name {
			return rest[eq+2 : end]
		}
		rest = strings.TrimPrefix(rest[end+1:], " ")
	}
	return ""
}

// PrefixOf gives the prefix of the element in hand with its colon.
func PrefixOf(x *Lexer) string {
	if x.Colon < x.NameFrom {
		return ""
	}
	return string(x.Buf[x.NameFrom : x.Colon+1])
}

// AttrsOf gives the attributes of the tag in hand as they are to be written
// again, in the order of their names.
func AttrsOf(x *Lexer) string {
	list := make([]string, 0, len(x.Attrs))
	for i := range x.Attrs {
		a := &x.Attrs[i]
		list = append(list, string(x.Buf[a.NameFrom:a.NameTo])+`="`+string(EscapeXML(nil, string(x.Value(a))))+`"`)
	}
	slices.Sort(list)
	return strings.Join(list, " ")
}

// WithAttr sets an attribute in what attrsOf gives; an empty value drops it.
func WithAttr(attrs, name, value string) string {
	list := make([]string, 0, 4)
	for rest := attrs; rest != ""; {
		eq := strings.Index(rest, `="`)
		end := strings.IndexByte(rest[eq+2:], '"') + eq + 3
		if rest[:eq] != name {
			list = append(list, rest[:end])
		}
		rest = strings.TrimPrefix(rest[end:], " ")
	}
	if value != "" {
		list = append(list, name+`="`+value+`"`)
	}
	slices.Sort(list)
	return strings.Join(list, " ")
}
