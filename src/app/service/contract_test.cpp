// The service and web/api/openapi.json say the same: operations, roles, refusals.
#include <set>

#include "app/service/trial.h"

namespace roomwright::app {
namespace {

std::set<std::string> roles_of(const Operation& operation) {
  std::set<std::string> out;
  for (const Role role : operation.roles) out.insert(role_names()[std::size_t(role)]);
  return out;
}

std::string upper(std::string text) {
  for (char& sign : text) sign = static_cast<char>(std::toupper(static_cast<unsigned char>(sign)));
  return text;
}

/// A target that fits a path: each place is filled with a word.
std::string filled(std::string path) {
  for (;;) {
    const auto open = path.find('{');
    if (open == std::string::npos) return path;
    path.replace(open, path.find('}') - open + 1, "1");
  }
}

std::string kind_of_body(const Json& operation) {
  if (!operation.contains("requestBody")) return "";
  return operation["requestBody"]["content"].items().begin().key();
}

TEST_F(ServiceTest, knows_the_operations_of_the_contract_and_no_others) {
  std::set<std::string> known;
  for (const Operation& one : operations()) {
    EXPECT_TRUE(known.insert(one.id).second) << one.id;
    const Json& promised = Contract::read().operation(one.id);
    EXPECT_EQ(upper(promised["method"]), one.method) << one.id;
    EXPECT_EQ(promised["path"], one.path) << one.id;
    const std::set<std::string> roles = promised["x-roles"];
    EXPECT_EQ(roles, roles_of(one)) << one.id;
    EXPECT_EQ(promised.contains("requestBody"), one.most_body > 0) << one.id;
  }
  for (const auto& [path, methods] : Contract::read().tree()["paths"].items())
    for (const auto& [method, operation] : methods.items())
      EXPECT_TRUE(known.contains(operation["operationId"])) << method << " " << path;
}

TEST_F(ServiceTest, admits_each_role_to_what_the_contract_gives_it_and_to_nothing_else) {
  const std::map<std::string, std::string> secrets = {
      {"office", pair("office")}, {"bench", pair("bench")}, {"site", pair("site")}};
  for (const auto& [path, methods] : Contract::read().tree()["paths"].items())
    for (const auto& [method, operation] : methods.items()) {
      const std::set<std::string> roles = operation["x-roles"];
      const std::string kind = kind_of_body(operation);
      for (const auto& [role, secret] : secrets) {
        const Admission out =
            service_->admit(head(upper(method), filled(path), {secret, "peer", "", kind}));
        const bool may = roles.empty() || roles.contains(role);
        EXPECT_EQ(out.ok, may) << role << " " << method << " " << path;
        if (may) {
          EXPECT_EQ(out.operation, operation["operationId"]);
          EXPECT_EQ(role_names()[std::size_t(out.role)], role);
        } else {
          EXPECT_EQ(out.refusal.status, 403);
        }
      }
      const Admission nobody =
          service_->admit(head(upper(method), filled(path), {"", "peer", "", kind, true}));
      EXPECT_EQ(nobody.ok, roles.empty()) << path;
      if (!roles.empty()) EXPECT_EQ(nobody.refusal.status, 401) << path;
      const Admission here = service_->admit(head(upper(method), filled(path), {"", "", "", kind}));
      EXPECT_TRUE(here.ok) << path;
      EXPECT_EQ(here.who, "office");
    }
}

TEST_F(ServiceTest, a_device_that_is_not_paired_is_told_nothing_of_what_is_there) {
  for (const char* target : {"/api/jobs", "/api/nothing", "/api/documents/x"}) {
    const From outside{"", "peer", "", "", true};
    EXPECT_EQ(ask("GET", target, "", outside).status, 401) << target;
    EXPECT_EQ(ask("GET", target, "", {"wrong"}).status, 401) << target;
  }
}

TEST_F(ServiceTest, refuses_other_paths_other_methods_and_other_kinds_of_body) {
  EXPECT_EQ(ask("GET", "/api/nothing").status, 404);
  const PageAnswer wrong = ask("PATCH", "/api/jobs");
  EXPECT_EQ(wrong.status, 405);
  EXPECT_EQ(header(wrong, "Allow"), "GET, POST");
  From form;
  form.kind = "application/x-www-form-urlencoded";
  EXPECT_EQ(ask("POST", "/api/jobs", std::string("{}"), form).status, 415);
  form.kind = "text/plain";
  EXPECT_EQ(ask("POST", "/api/documents/x/edits", std::string("{}"), form).status, 415);
  EXPECT_EQ(ask("POST", "/api/files?name=a", std::string("x"), form).status, 415);
}

TEST_F(ServiceTest, words_of_a_path_are_decoded_strictly) {
  for (const char* target :
       {"/api/documents/%2e%2e", "/api/documents/..", "/api/documents/.", "/api/documents/a%2fb",
        "/api/documents/a%5cb", "/api/documents/a%00b", "/api/documents/a%0ab",
        "/api/documents/%ff", "/api/documents/%c0%af", "/api/documents/%zz", "/api/documents/%2",
        "/api//documents", "/api/documents/", "api/documents", "", "/api/jobs?version=%zz",
        "/api/jobs?a=1&a=2", "/api/documents/%ed%a0%80"})
    EXPECT_EQ(ask("GET", target).status, 400) << target;
  EXPECT_EQ(ask("GET", "/api/documents/" + std::string(500, 'a')).status, 400);
  EXPECT_EQ(ask("GET", "/api/jobs?x=" + std::string(9000, 'a')).status, 400);
  EXPECT_EQ(ask("GET", "/api/documents/%C3%BC").status, 404) << "an id that is not there";
  EXPECT_EQ(ask("GET", "/api/documents/x?version=-1").status, 400);
  EXPECT_EQ(ask("GET", "/api/documents/x?version=1e9").status, 400);
}

TEST_F(ServiceTest, a_body_that_is_too_long_is_refused_before_it_is_read) {
  EXPECT_EQ(ask("POST", "/api/jobs", std::string((32u << 20) + 1, ' '), {}).status, 413);
  EXPECT_EQ(ask("GET", "/api/jobs", std::string("x"), {}).status, 413);
}

TEST_F(ServiceTest, every_mistake_of_a_body_is_told_at_once) {
  bring_in();
  const PageAnswer out = post("/api/documents/room/edits",
                              Json{{"base", "one"}, {"edits", Json::array({1})}, {"more", 2}});
  EXPECT_EQ(out.status, 400);
  EXPECT_GE(tree(out)["errors"].size(), 4u) << out.body;
  EXPECT_EQ(ask("POST", "/api/documents/room/edits", std::string("{"), {}).status, 400);
  EXPECT_EQ(ask("POST", "/api/documents/room/edits", std::string("[]"), {}).status, 400);
}

TEST_F(ServiceTest, when_it_is_closed_it_answers_so) {
  service_->close();
  const RequestHead request = head("GET", "/api/jobs", {});
  EXPECT_EQ(service_->answer(service_->admit(request), request, "", gone_).status, 503);
}

TEST(EventsAfter, is_told_by_the_header_then_by_the_query) {
  RequestHead head;
  head.target = "/api/events";
  EXPECT_EQ(events_after(head), -1);
  head.target = "/api/events?after=12";
  EXPECT_EQ(events_after(head), 12);
  head.last_event_id = "15";
  EXPECT_EQ(events_after(head), 15);
  head.last_event_id = "x";
  EXPECT_EQ(events_after(head), -1);
}

}  // namespace
}  // namespace roomwright::app
