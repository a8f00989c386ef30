// The page begins here: its look, then the one component that holds it.
import '@fontsource-variable/inter/wght.css';
import { mount } from 'svelte';
import './look.css';
import Page from './stages/page.svelte';

mount(Page, { target: document.getElementById('page')! });
