package texts

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"text/template/parse"
)

// Check returns what is wrong with the languages: a sentence that is no template; and beside
// English a key that English has not, one that is missing, and a sentence with other values
// than the English one. A language that has only what is printed may lack all else.
func Check(all map[string]Language) (faults []string) {
	english := all[English]
	for _, code := range slices.Sorted(maps.Keys(all)) {
		l := all[code]
		for _, key := range slices.Sorted(maps.Keys(l)) {
			if english[key] == nil {
				faults = append(faults, fmt.Sprintf("%s.json: no such key: %s", code, key))
			}
		}
		for _, key := range slices.Sorted(maps.Keys(english)) {
			if l[key] == nil {
				if Printed(key) || speaks(l) {
					faults = append(faults, fmt.Sprintf("%s.json: %s is missing", code, key))
				}
				continue
			}
			has, err := l[key].values()
			if err != nil {
				faults = append(faults, fmt.Sprintf("%s.json: %v", code, err))
				continue
			}
			if wants, err := english[key].values(); err == nil && !slices.Equal(has, wants) {
				faults = append(faults, fmt.Sprintf("%s.json: %s has the values %q, not %q", code, key, has, wants))
			}
		}
	}
	return faults
}

// values returns the names of the values that a sentence wants, sorted.
func (s *sentence) values() ([]string, error) {
	t, err := s.template()
	if err != nil {
		return nil, err
	}
	found := map[string]bool{}
	walk(reflect.ValueOf(t.Root), found)
	return slices.Sorted(maps.Keys(found)), nil
}

var fieldNode = reflect.TypeFor[*parse.FieldNode]()

// walk goes through all nodes below one: whatever kinds there are, values stand in fields.
func walk(v reflect.Value, found map[string]bool) {
	switch v.Kind() {
	case reflect.Interface:
		walk(v.Elem(), found)
	case reflect.Slice:
		for i := range v.Len() {
			walk(v.Index(i), found)
		}
	case reflect.Pointer:
		if v.IsNil() {
			return
		}
		if v.Type() == fieldNode {
			found[strings.Join(v.Interface().(*parse.FieldNode).Ident, ".")] = true
			return
		}
		walk(v.Elem(), found)
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				walk(v.Field(i), found)
			}
		}
	}
}
