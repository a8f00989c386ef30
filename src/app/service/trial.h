// For this folder's tests: a service on a store of its own, requests as a browser sends them, and
// every answer held against web/api/openapi.json by a library that is not ours.
#pragma once

#include <gtest/gtest.h>

#include <unistd.h>
#include <atomic>
#include <filesystem>
#include <fstream>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <sstream>
#include <string>

#include "app/service/service.h"
#include "core/reading/reading.h"

namespace roomwright::app {

/// The contract, and whether an answer is as it promises: status, kind, and every key of a body.
class Contract {
 public:
  static const Contract& read();
  const Json& tree() const { return tree_; }
  /// By its operationId.
  const Json& operation(const std::string& id) const { return operations_.at(id); }
  /// What is wrong with an answer; empty: nothing.
  std::string fault(const std::string& operation, const PageAnswer& answer) const;

 private:
  Contract();
  Json tree_, strict_;
  std::map<std::string, Json> operations_;
};

/// Where a request comes from.
struct From {
  std::string secret = {};  ///< empty: on the machine itself
  std::string peer = "192.168.1.31";
  std::string range = {}, kind = {};
  bool outside = false;  ///< from the local network, even without a secret
};

class ServiceTest : public ::testing::Test {
 protected:
  ServiceTest();
  ~ServiceTest() override;
  void open();

  static RequestHead head(const std::string& method, const std::string& target, const From& from);
  /// Admits and answers; holds the answer against the contract.
  PageAnswer ask(const std::string& method, const std::string& target, const std::string& body = {},
                 const From& from = {});
  PageAnswer send(const std::string& method, const std::string& target, const Json& body,
                  const From& from = {}) {
    return ask(method, target, json_text(body, -1), from);
  }
  PageAnswer post(const std::string& target, const Json& body, const From& from = {}) {
    return send("POST", target, body, from);
  }
  static Json tree(const PageAnswer& answer) { return Json::parse(answer.body, nullptr, false); }
  static std::string header(const PageAnswer& answer, const std::string& name);
  /// Pairs a device; its secret.
  std::string pair(const std::string& role, const std::string& name = "a device");
  /// A small room with one panel, brought in; its id.
  std::string bring_in(const std::string& name = "room");
  /// The text of it.
  static std::string small_job();
  static std::string example(const std::string& name);
  std::string word() { return "word-" + std::to_string(++words_); }

  std::filesystem::path folder_;
  std::string now_ = "2026-11-27T15:04:05Z";
  std::unique_ptr<Store> store_;
  std::unique_ptr<Service> service_;
  ServiceOptions options_;
  std::atomic<bool> gone_ = false;
  std::vector<std::string> parts_;  ///< of the last stream
  int secrets_ = 0, words_ = 0;
};

}  // namespace roomwright::app
