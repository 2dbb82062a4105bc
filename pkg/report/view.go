package report

import (
	"html/template"
)

// viewBundle is the 3D view with its data.
type viewBundle struct {
	Script template.JS
	Facts  any
	Data   string
}
