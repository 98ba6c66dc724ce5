// Package display turns a value into what a notebook can show: a bundle of MIME
// types, by the methods that the value has.
package display

import (
	"encoding/base64"
	"fmt"
	"reflect"
	"strings"

	"counterpoise/kernel/server"
)

var _ = base64.StdEncoding

// Of returns the bundle of one value.
func Of(v any) server.Bundle {
	return server.Bundle{Data: map[string]any{"text/plain": Text(v)}, Metadata: map[string]any{}}
}

// Values returns the bundle of the values of an expression.
func Values(list []any) server.Bundle {
	if len(list) == 1 {
		return Of(list[0])
	}
	var parts []string
	for _, v := range list {
		parts = append(parts, Text(v))
	}
	return server.Bundle{Data: map[string]any{"text/plain": strings.Join(parts, ", ")}, Metadata: map[string]any{}}
}

// Text writes a value as Go would.
func Text(v any) string {
	if v == nil {
		return "nil"
	}
	rv := reflect.ValueOf(v)
	switch rv.Kind() {
	case reflect.String:
		return fmt.Sprintf("%q", rv.String())
	case reflect.Bool, reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64, reflect.Float32, reflect.Float64:
		return fmt.Sprintf("%v", v)
	}
	return strings.ReplaceAll(fmt.Sprintf("%#v", v), "main.", "")
}
