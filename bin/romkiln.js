#!/usr/bin/env node
// The program by its name as a module.
import './romkiln.cjs';
