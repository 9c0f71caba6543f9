#include "evenbore/front.h"

int main(int argc, char **argv)
{
  return eb_front_run(argc, argv, eb_host_system());
}
