module github.com/cusptrace/cusptrace/examples/splint

go 1.26.0

require (
	github.com/cusptrace/cusptrace v0.0.0
	github.com/golang/geo v0.0.0-20260818125358-b200a1149890
	github.com/stretchr/testify v1.12.1
	github.com/unixpickle/model3d v0.4.6
	gonum.org/v1/gonum v0.17.0
)

require (
	github.com/goccy/go-yaml v1.19.2 // indirect
	github.com/hschendel/stl v1.0.4 // indirect
	github.com/pkg/errors v0.9.1 // indirect
	github.com/unixpickle/essentials v1.3.0 // indirect
	github.com/unixpickle/splaytree v1.1.0 // indirect
	go.yaml.in/yaml/v3 v3.0.5 // indirect
	golang.org/x/sys v0.50.0 // indirect
)

replace github.com/cusptrace/cusptrace => ../..
