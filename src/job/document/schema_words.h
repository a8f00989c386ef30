// Private to job/document: the words that both schemas are written with.
#pragma once

#include <initializer_list>
#include <string>
#include <vector>

#include "job/document/parts.h"

namespace roomwright::job {

/// A number from least to most.
Json number_schema(double least, double most);
Json number_above_0(double most);
Json whole_schema(int least, int most);
Json truth_schema();
/// The reader counts bytes, the schema signs: what the reader takes is never longer.
Json text_schema(int most = 500);
/// A number in the file's unit, or a text with its own.
Json length_schema();
/// A number, or a text where every digit counts.
Json decimal_schema(double most);
Json names_schema(const std::vector<std::string>& names);
Json list_schema(const Json& of, int least = 0, int most = int(most_list));
Json lengths_schema(int count);
Json table_schema(const Json& of);
Json needs(std::initializer_list<const char*> keys);
/// An object with these keys and no others; those named must be there. `name` finds their notes.
Json object_schema(const std::string& name, Json properties,
                   const std::vector<std::string>& required = {});
Json version_schema();
Json headed(const char* title, Json schema);

}  // namespace roomwright::job
