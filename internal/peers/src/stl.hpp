// Binary STL as a soup, and raw little-endian float64 in and out.
#pragma once
#include <array>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <string>
#include <vector>

using Point = std::array<double, 3>;
using Triangle = std::array<Point, 3>;

inline std::vector<char> read_file(const std::string& path) {
  FILE* f = std::fopen(path.c_str(), "rb");
  if (!f) { std::perror(path.c_str()); std::exit(1); }
  std::vector<char> out;
  char buf[1 << 16];
  for (size_t n; (n = std::fread(buf, 1, sizeof buf, f)) > 0;) out.insert(out.end(), buf, buf + n);
  std::fclose(f);
  return out;
}

inline std::vector<Triangle> read_stl(const std::string& path) {
  auto b = read_file(path);
  uint32_t n = 0;
  if (b.size() >= 84) std::memcpy(&n, &b[80], 4);
  if (b.size() != 84 + 50 * size_t(n)) { std::fprintf(stderr, "%s: not binary STL\n", path.c_str()); std::exit(1); }
  std::vector<Triangle> out(n);
  for (size_t i = 0; i < n; i++) {
    float c[9];
    std::memcpy(c, &b[84 + 50 * i + 12], sizeof c);
    for (int k = 0; k < 9; k++) out[i][k / 3][k % 3] = c[k];
  }
  return out;
}

inline std::vector<double> read_doubles(const std::string& path) {
  auto b = read_file(path);
  std::vector<double> out(b.size() / 8);
  std::memcpy(out.data(), b.data(), 8 * out.size());
  return out;
}

inline void write_doubles(const std::string& path, const std::vector<double>& v) {
  FILE* f = std::fopen(path.c_str(), "wb");
  if (!f || std::fwrite(v.data(), 8, v.size(), f) != v.size() || std::fclose(f)) { std::perror(path.c_str()); std::exit(1); }
}
