// The program's door: hands its arguments to the command line in cli.h.
#include "app/cli/cli.h"

int main(int argc, char** argv) {
  return roomwright::app::run_cli(argc, argv);
}
