package trace_test

import (
	"encoding/json"
	"strconv"
)

func jsonOf(v any) ([]byte, error) { return json.Marshal(v) }

func formatTenths(x float64) string { return strconv.FormatFloat(x, 'f', 1, 64) }
