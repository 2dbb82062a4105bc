# The peers' programs and the real case, which are no part of the project.
SHARED ?= ../shared

.PHONY: bench peers

# Ours and the peers' on the same work, one after the other. Keep the machine quiet.
bench:
	go run ./internal/peers/benchtable $(SHARED)

# What findings cost beside the frames, and the runs with other settings beside one
# examination.
.PHONY: bench-findings
bench-findings:
	go test ./pkg/occlusion -run '^$$' -bench BenchmarkFindings -benchtime 1x

# Distances against CGAL and FCL; fails where they are not installed.
peers:
	CUSPTRACE_PEERS=require go test -count 1 -v ./internal/peers
