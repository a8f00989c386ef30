// What trial.h promises.
#include "app/service/trial.h"

#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validator.hpp>

namespace roomwright::app {

namespace {

/// 2.0 is an integer to JSON Schema, but not to the library that judges.
void make_whole(Json& value) {
  if (value.is_number_float() && std::abs(value.get<double>()) < 1e15 &&
      value.get<double>() == std::floor(value.get<double>()))
    value = static_cast<long long>(value.get<double>());
  if (value.is_structured())
    for (auto& one : value) make_whole(one);
}

/// Objects take no key that they do not name.
void make_strict(Json& schema) {
  if (schema.is_object() && schema.contains("properties") && schema["properties"].is_object() &&
      !schema.contains("additionalProperties"))
    schema["additionalProperties"] = false;
  if (schema.is_structured())
    for (auto& one : schema) make_strict(one);
}

std::string whole_file(const std::string& path) {
  std::ifstream in(std::string(ROOMWRIGHT_SOURCE_DIR) + "/" + path, std::ios::binary);
  std::ostringstream out;
  out << in.rdbuf();
  return out.str();
}

}  // namespace

Contract::Contract() : tree_(Json::parse(whole_file("web/api/openapi.json"))), strict_(tree_) {
  make_strict(strict_["components"]["schemas"]);
  for (const auto& [path, methods] : tree_["paths"].items())
    for (const auto& [method, operation] : methods.items()) {
      Json one = operation;
      one["path"] = path;
      one["method"] = method;
      operations_[operation["operationId"]] = one;
    }
}

const Contract& Contract::read() {
  static const Contract contract;
  return contract;
}

std::string Contract::fault(const std::string& id, const PageAnswer& answer) const {
  const Json& responses = operation(id)["responses"];
  const std::string status = std::to_string(answer.status);
  if (!responses.contains(status)) return id + " may not answer " + status + ": " + answer.body;
  const Json& content = responses[status]["content"];
  const std::string kind = answer.content_type.substr(0, answer.content_type.find(';'));
  if (!content.contains(kind)) {
    const bool bytes = content.contains("application/octet-stream") ||
                       (id == "export_job" && kind == "application/json");
    return bytes ? "" : id + " may not answer with " + kind;
  }
  if (kind != "application/json") return "";
  Json root = content[kind]["schema"];
  make_strict(root);
  root = {{"allOf", {root}}, {"components", strict_["components"]}};
  Json body = Json::parse(answer.body, nullptr, false);
  if (body.is_discarded()) return id + " answered with no JSON";
  make_whole(body);
  valijson::Schema schema;
  valijson::SchemaParser parser;
  parser.populateSchema(valijson::adapters::NlohmannJsonAdapter(root), schema);
  valijson::Validator validator;
  valijson::ValidationResults results;
  if (validator.validate(schema, valijson::adapters::NlohmannJsonAdapter(body), &results))
    return "";
  std::string why = id + " " + status + ": ";
  valijson::ValidationResults::Error error;
  while (results.popError(error)) {
    for (const auto& step : error.context) why += step;
    why += ": " + error.description + "\n";
  }
  return why + answer.body.substr(0, 600);
}

ServiceTest::ServiceTest() {
  static int count = 0;
  folder_ = std::filesystem::temp_directory_path() /
            ("roomwright-service-" + std::to_string(getpid()) + "-" + std::to_string(++count));
  std::filesystem::create_directories(folder_);
  options_.now = [this] { return now_; };
  options_.secret = [this] { return sha256_hex("secret " + std::to_string(++secrets_)); };
  options_.lan_address = "https://192.168.1.20:8138";
  options_.sound_field = false;
  open();
}

ServiceTest::~ServiceTest() {
  service_.reset();
  store_.reset();
  std::error_code fault;
  std::filesystem::remove_all(folder_, fault);
}

void ServiceTest::open() {
  service_.reset();
  store_.reset();
  StoreOptions options;
  options.create = true;
  options.durable = false;
  options.when = now_;
  options.on_change = [this](std::int64_t sequence) {
    if (service_) service_->changed(sequence);
  };
  auto opened = open_store((folder_ / "shop.store").string(), options);
  ASSERT_TRUE(opened.ok()) << opened.mistakes().text();
  store_ = std::move(*opened);
  service_ = std::make_unique<Service>(*store_, options_);
}

RequestHead ServiceTest::head(const std::string& method, const std::string& target,
                              const From& from) {
  RequestHead out;
  out.method = method;
  out.target = target;
  out.content_type = from.kind.empty() ? "application/json" : from.kind;
  out.range = from.range;
  out.secret = from.secret;
  out.loopback = from.secret.empty() && !from.outside;
  out.peer = out.loopback ? "127.0.0.1" : from.peer;
  return out;
}

PageAnswer ServiceTest::ask(const std::string& method, const std::string& target,
                            const std::string& body, const From& from) {
  const RequestHead request = head(method, target, from);
  const Admission admission = service_->admit(request);
  if (!admission.ok) {
    EXPECT_GE(admission.refusal.status, 400);
    EXPECT_TRUE(Json::parse(admission.refusal.body).contains("errors"));
    return admission.refusal;
  }
  parts_.clear();
  const PageAnswer out =
      service_->answer(admission, request, body, gone_, [this](std::string_view part) {
        parts_.emplace_back(part);
        return true;
      });
  if (out.status != 413) EXPECT_EQ(Contract::read().fault(admission.operation, out), "") << target;
  return out;
}

std::string ServiceTest::header(const PageAnswer& answer, const std::string& name) {
  for (const auto& [key, value] : answer.headers)
    if (key == name) return value;
  return "";
}

std::string ServiceTest::pair(const std::string& role, const std::string& name) {
  const Json code = tree(post("/api/devices/codes", Json{{"role", role}}));
  const From outside{"", "192.168.1.31", "", "", true};
  const PageAnswer paired =
      post("/api/devices/pair", Json{{"code", code.value("code", "")}, {"name", name}}, outside);
  EXPECT_EQ(paired.status, 200) << paired.body;
  const std::string cookie = header(paired, "Set-Cookie");
  const auto equals = cookie.find('=');
  return cookie.substr(equals + 1, cookie.find(';') - equals - 1);
}

std::string ServiceTest::bring_in(const std::string& name) {
  From from;
  from.kind = "application/toml";
  const PageAnswer made = ask("POST", "/api/jobs/import?name=" + name + ".toml", small_job(), from);
  EXPECT_EQ(made.status, 201) << made.body;
  return tree(made).value("id", "");
}

std::string ServiceTest::small_job() {
  return R"(# a small room
schema = 1
title = "Small room"
reference = "D-1"
date = "2026-11-20"
use = "mixing"
shop = "shop_metric.toml"

[client]
name = "a client"

[region]
units = "mm"

[room]
size = [4000, 3000, 2400] # by tape

[surfaces]
default = "plasterboard_two_layers"

[[loudspeakers]]
label = "left"
at = [600, 1000, 1200]

[[seats]]
label = "seat"
at = [2000, 1500, 1200]

[[products]]
key = "side"
name = "side panel"
kind = "wall_panel"
timber = "batten_27x68"
board = "stone_wool_50"
cloth = "open_weave_grey"
back_cloth = "fleece_black"

[[pieces]]
label = "W1"
product = "side"
on = "wall0"
from = [1200, 600]
)";
}

std::string ServiceTest::example(const std::string& name) {
  return whole_file("examples/" + name + ".toml");
}

}  // namespace roomwright::app
