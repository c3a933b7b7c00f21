/*
 * ovenproof/ovenproof.h: the whole library in one include. Each room has a header of its own, and says
 * there what it is for; base.h states the conventions once.
 */
#ifndef OVENPROOF_OVENPROOF_H
#define OVENPROOF_OVENPROOF_H

#include "ovenproof/base.h"
#include "ovenproof/diagnosis.h"
#include "ovenproof/electrical.h"
#include "ovenproof/metrology.h"
#include "ovenproof/oven.h"
#include "ovenproof/text.h"
#include "ovenproof/thermal.h"
#include "ovenproof/thermocouple.h"
#include "ovenproof/trace.h"
#include "ovenproof/trace_compare.h"
#include "ovenproof/trace_watch.h"

#define OVP_VERSION "0.1.0"

#endif
