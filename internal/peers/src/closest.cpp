// closest SURFACE.stl POINTS DISTANCES: the distance of each point (three
// float64) from a surface, by CGAL's AABB tree.
#include <CGAL/AABB_traits.h>
#include <CGAL/AABB_tree.h>
#include <CGAL/AABB_triangle_primitive.h>
#include <CGAL/Simple_cartesian.h>
#include <cmath>
#include "stl.hpp"

using K = CGAL::Simple_cartesian<double>;
using List = std::vector<K::Triangle_3>;
using Tree = CGAL::AABB_tree<CGAL::AABB_traits<K, CGAL::AABB_triangle_primitive<K, List::const_iterator>>>;

int main(int argc, char** argv) {
  if (argc != 4) return 2;
  List tris;
  auto p = [](const Point& q) { return K::Point_3(q[0], q[1], q[2]); };
  for (auto& t : read_stl(argv[1])) tris.emplace_back(p(t[0]), p(t[1]), p(t[2]));
  Tree tree(tris.begin(), tris.end());
  tree.accelerate_distance_queries();
  auto q = read_doubles(argv[2]);
  std::vector<double> out;
  for (size_t i = 0; i + 2 < q.size(); i += 3) out.push_back(std::sqrt(tree.squared_distance(K::Point_3(q[i], q[i + 1], q[i + 2]))));
  write_doubles(argv[3], out);
}
