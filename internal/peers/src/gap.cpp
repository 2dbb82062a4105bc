// gap UPPER.stl LOWER.stl POSES GAPS: the least distance of the upper surface
// from the lower one under each pose (16 float64, rows of a 4×4 matrix), by FCL.
#include <fcl/fcl.h>
#include <algorithm>
#include "stl.hpp"

using Model = fcl::BVHModel<fcl::OBBRSS<double>>;

static std::shared_ptr<Model> load(const char* path) {
  std::vector<fcl::Vector3<double>> v;
  std::vector<fcl::Triangle> t;
  for (auto& tri : read_stl(path)) {
    for (auto& p : tri) v.emplace_back(p[0], p[1], p[2]);
    t.emplace_back(v.size() - 3, v.size() - 2, v.size() - 1);
  }
  auto m = std::make_shared<Model>();
  m->beginModel(t.size(), v.size());
  m->addSubModel(v, t);
  m->endModel();
  m->computeLocalAABB();
  return m;
}

int main(int argc, char** argv) {
  if (argc != 5) return 2;
  auto up = load(argv[1]), lo = load(argv[2]);
  auto poses = read_doubles(argv[3]);
  std::vector<double> out;
  for (size_t i = 0; i + 15 < poses.size(); i += 16) {
    fcl::Transform3<double> at = fcl::Transform3<double>::Identity();
    for (int r = 0; r < 3; r++) {
      for (int c = 0; c < 3; c++) at.linear()(r, c) = poses[i + 4 * r + c];
      at.translation()[r] = poses[i + 4 * r + 3];
    }
    fcl::DistanceRequest<double> request;
    fcl::DistanceResult<double> result;
    out.push_back(std::max(0.0, fcl::distance(up.get(), fcl::Transform3<double>(fcl::Transform3<double>::Identity()), lo.get(), at, request, result)));
  }
  write_doubles(argv[4], out);
}
