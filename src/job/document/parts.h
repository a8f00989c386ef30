// Private to job/document: text to tree, and the pieces from which the readers are made.
#pragma once

#include <array>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <string_view>

#include "core/reading/reading.h"
#include "job/document/document.h"

namespace roomwright::job {

inline constexpr std::size_t most_document_bytes = 2u << 20;
inline constexpr std::size_t most_list = 500;

/// A document's text as one tree, with the line of each key.
struct Tree;
class Document {
 public:
  Document();
  ~Document();
  Document(Document&&) noexcept;
  Document& operator=(Document&&) noexcept;
  Json& tree();
  const Json& tree() const;
  Lines lines;

 private:
  std::unique_ptr<Tree> tree_;
};
/// Errors: more than 2 MB, 20 levels, 50,000 values or 80 bytes a key; not UTF-8; broken TOML or
/// JSON; a key twice in one table. Each with its line.
Result<Document> read_document(std::string_view text);

/// Reads lengths as numbers in the stated unit or as texts with their own.
struct LengthReader {
  LengthUnit unit = LengthUnit::mm;

  /// The length of a raw value; nullopt after a complaint.
  std::optional<Length> value(Reader& in, const std::string& key, const Json& raw, Length at_least,
                              Length at_most) const;
  Length required(Reader& in, const char* key, Length at_least, Length at_most,
                  const char* remedy) const;
  Length optional(Reader& in, const char* key, Length fallback, Length at_least,
                  Length at_most) const;
  std::optional<Length> maybe(Reader& in, const char* key, Length at_least, Length at_most) const;
  /// A list of exactly N lengths; nullopt after a complaint.
  template <std::size_t N>
  std::optional<std::array<Length, N>> list(Reader& in, const char* key, const char* remedy) const;
  std::optional<std::vector<Length>> any_list(Reader& in, const std::string& key, const Json* raw,
                                              std::size_t count) const;
};

template <std::size_t N>
std::optional<std::array<Length, N>> LengthReader::list(Reader& in, const char* key,
                                                        const char* remedy) const {
  const auto values = any_list(in, key, in.required(key, remedy), N);
  if (!values) return std::nullopt;
  std::array<Length, N> out;
  for (std::size_t i = 0; i < N; ++i) out[i] = (*values)[i];
  return out;
}

const std::vector<std::string>& kind_names();  ///< of products
const std::vector<std::string>& edge_shape_names();
const std::vector<std::string>& joint_names();  ///< of a frame's corners
const std::vector<std::string>& mounting_names();
const std::vector<std::string>& stretcher_run_names();
const std::vector<std::string>& layer_kind_names();  ///< of custom pieces
const std::vector<std::string>& front_names();       ///< of tuned traps
const std::vector<std::string>& fill_place_names();
const std::vector<std::string>& sequence_names();  ///< of diffusers
const std::vector<std::string>& feature_kind_names();
const std::vector<std::string>& furniture_kind_names();

inline constexpr Length zero{};
inline constexpr Length far = 1_mm * 100'000;

LengthReader lengths_of(const Job& job);  ///< in the job's unit
Vec3 metres(const Point& point);
/// A key of the library of surfaces; empty where there is none, or after a complaint.
std::string material_of(Reader& in, const char* key, bool required);

/// The parts of a job, each told all that is wrong with it.
void read_region(Reader& in, Job& job);
void read_room(Reader& in, Job& job);
void read_surfaces(Reader& in, Job& job);
void read_contents(Reader& in, Job& job);
/// Whether each product was read without a mistake of its own keys.
std::vector<bool> read_products(Reader& in, Job& job);
void read_pieces(Reader& in, Job& job);
void read_site(Reader& in, Job& job);
/// The lines of an order, each as a product and its pieces. with_shop: whether products can be
/// made.
void read_order(Reader& in, Job& job, const std::vector<bool>& readable, bool with_shop);
/// The shop file; `units` and `currency` are its own.
void read_shop(Reader& in, shop::Shop& shop);
/// How the shop packs, what it drives, what carriers ask, its labels.
void read_dispatch(Reader& in, const LengthReader& lengths, shop::Shop& shop);
/// A price in the shop's currency; 0 after a complaint.
Money money_in(Reader& in, const char* key, const Currency& currency, bool required);

/// Whether the room was read: what lies in it can be checked.
bool has_room(const Job& job);

}  // namespace roomwright::job
