package record

import (
	"encoding"
	"encoding/json"
	"fmt"
	"reflect"
	"unicode/utf8"
)

var (
	jsonMarshaler = reflect.TypeFor[json.Marshaler]()
	textMarshaler = reflect.TypeFor[encoding.TextMarshaler]()
)

// checkGo refuses in a Go value what encoding/json would let through or mend
// silently: floats that happen to be whole, and text that is not UTF-8, which
// it would replace by U+FFFD.
func checkGo(v any) error { return checkValue(reflect.ValueOf(v), "", 0) }

func checkValue(v reflect.Value, path string, depth int) error {
	if !v.IsValid() {
		return nil
	}
	if depth > MaxDepth {
		return fmt.Errorf("%snested deeper than %d", place(path), MaxDepth)
	}
	if v.Type().Implements(jsonMarshaler) {
		return nil // its bytes are read strictly afterwards
	}
	if v.Type().Implements(textMarshaler) {
		return checkTextMarshaler(v, path)
	}
	switch v.Kind() {
	case reflect.Float32, reflect.Float64, reflect.Complex64, reflect.Complex128:
		return fmt.Errorf("%s%v is a float", place(path), v)
	case reflect.String:
		return checkUTF8(v.String(), path)
	case reflect.Pointer, reflect.Interface:
		return checkValue(v.Elem(), path, depth+1)
	case reflect.Struct:
		return checkStruct(v, path, depth)
	case reflect.Map:
		return checkMap(v, path, depth)
	case reflect.Slice, reflect.Array:
		return checkElements(v, path, depth)
	}
	return nil
}

func checkTextMarshaler(v reflect.Value, path string) error {
	if v.Kind() == reflect.Pointer && v.IsNil() {
		return nil
	}
	text, err := v.Interface().(encoding.TextMarshaler).MarshalText()
	if err != nil {
		return fmt.Errorf("%s%w", place(path), err)
	}
	return checkUTF8(string(text), path)
}

func checkStruct(v reflect.Value, path string, depth int) error {
	for i := range v.NumField() {
		field := v.Type().Field(i)
		if (!field.IsExported() && !field.Anonymous) || field.Tag.Get("json") == "-" {
			continue
		}
		if err := checkField(v.Field(i), join(path, field.Name), depth); err != nil {
			return err
		}
	}
	return nil
}

// checkField looks into a field; of an embedded one that is not exported only
// its own exported fields count, and its methods must not be called.
func checkField(v reflect.Value, path string, depth int) error {
	if v.CanInterface() {
		return checkValue(v, path, depth+1)
	}
	if v.Kind() == reflect.Pointer {
		v = v.Elem()
	}
	if v.Kind() != reflect.Struct {
		return nil
	}
	return checkStruct(v, path, depth+1)
}

func checkMap(v reflect.Value, path string, depth int) error {
	for it := v.MapRange(); it.Next(); {
		key := fmt.Sprint(it.Key())
		if err := checkUTF8(key, path); err != nil {
			return err
		}
		if err := checkValue(it.Value(), join(path, key), depth+1); err != nil {
			return err
		}
	}
	return nil
}

func checkElements(v reflect.Value, path string, depth int) error {
	if v.Type().Elem().Kind() == reflect.Uint8 {
		return nil // becomes base64
	}
	for i := range v.Len() {
		if err := checkValue(v.Index(i), fmt.Sprintf("%s[%d]", path, i), depth+1); err != nil {
			return err
		}
	}
	return nil
}

func checkUTF8(s, path string) error {
	if utf8.ValidString(s) {
		return nil
	}
	return fmt.Errorf("%s%q is not UTF-8", place(path), s)
}

func join(path, name string) string {
	if path == "" {
		return name
	}
	return path + "." + name
}

func place(path string) string {
	if path == "" {
		return ""
	}
	return path + ": "
}
